from __future__ import annotations

import os
import random
import subprocess
import sys
from collections import Counter

import pytest

from cagework.solver.editing.compose import ComposeError, Recipe, compose, harden, irregular_regions
from cagework.solver.model import BOXES, Cell, HouseKind, Puzzle
from cagework.solver.recheck import obeys
from cagework.solver.search.exact import Outcome, Verdict, solve

PRINT = """
from cagework.solver.editing.compose import Recipe, compose, harden
from cagework.solver.search.exact import solve
made = compose(11, Recipe(size=6, irregular=True))
print(made, harden(made, 3, lambda puzzle: solve(puzzle).outcome == "sound"))
"""


def connected(cells: tuple[Cell, ...]) -> bool:
    """Whether removing all cells reached from the first leaves none; a check of its own."""
    left, edge = set(cells[1:]), [cells[0]]
    while edge:
        row, col = edge.pop()
        near = {c for c in left if abs(c.row - row) + abs(c.col - col) == 1}
        left -= near
        edge += near
    return not left


@pytest.mark.parametrize("size", [4, 6, 8, 9, 10])
def test_taste(size: int) -> None:
    """Every cell in one cage, none alone, sizes 2 to 6 mixed, not all dominoes."""
    sizes: Counter[int] = Counter()
    for seed in range(6):
        made = compose(seed, Recipe(size=size))
        assert obeys(made.puzzle, made.answer)
        assert solve(made.puzzle).outcome is Outcome.SOUND
        cages = made.puzzle.cages
        assert sorted(cell for cage in cages for cell in cage.cells) == sorted(made.puzzle.cells)
        assert all(connected(cage.cells) for cage in cages)
        assert [cage.first for cage in cages] == sorted(cage.first for cage in cages)
        sizes.update(len(cage.cells) for cage in cages)
        assert 1 < min(len(cage.cells) for cage in cages) <= max(len(cage.cells) for cage in cages) <= 6
    assert set(sizes) >= {2, 3, 4}
    assert sizes[2] < 0.6 * sizes.total()


def test_compact_shapes_are_preferred() -> None:
    """Measured by the shared edges inside cages, over the same seeds."""
    def edges(compact: float) -> int:
        puzzles = [compose(seed, Recipe(size=8, sizes={4: 1, 5: 1}, compact=compact)).puzzle for seed in range(8)]
        return sum(
            near in cage.cells for puzzle in puzzles for cage in puzzle.cages for cell in cage.cells
            for near in cell.neighbours()
        ) * 1000 // sum(len(puzzle.cages) for puzzle in puzzles)

    assert edges(8.0) > edges(0.0)


def test_lone_cells_only_where_asked() -> None:
    made = compose(1, Recipe(size=6, sizes={1: 1, 2: 2, 3: 2}, lone=True, dominoes=1))
    assert any(len(cage.cells) == 1 for cage in made.puzzle.cages)


def test_one_seed_one_puzzle_whatever_the_hash_seed() -> None:
    printed = {
        subprocess.run(
            [sys.executable, "-c", PRINT], env={**os.environ, "PYTHONHASHSEED": hash_seed},
            capture_output=True, text=True, check=True,
        ).stdout
        for hash_seed in ("1", "2")
    }
    assert len(printed) == 1
    assert compose(1, Recipe(size=6)) != compose(2, Recipe(size=6))


@pytest.mark.parametrize("size", BOXES)
def test_irregular_regions(size: int) -> None:
    regions = irregular_regions(size, random.Random(size))
    assert sorted(cell for region in regions for cell in region) == sorted(Puzzle(size, (), ()).cells)
    assert {len(region) for region in regions} == {size}
    assert all(connected(region) for region in regions)
    assert set(regions) != set(irregular_regions(size, random.Random(size + 1)))


def test_rules_and_regions_reach_the_puzzle() -> None:
    made = compose(2, Recipe(irregular=True, rules=("diagonals",)))
    kinds = Counter(house.kind for house in made.puzzle.houses)
    assert kinds == {HouseKind.ROW: 9, HouseKind.COLUMN: 9, HouseKind.REGION: 9, HouseKind.EXTRA: 2}
    assert obeys(made.puzzle, made.answer)
    leaping = compose(2, Recipe(size=6, rules=("knight",)))
    assert leaping.puzzle.pairs
    assert obeys(leaping.puzzle, leaping.answer)


def test_harden_merges_while_unique() -> None:
    made = compose(5, Recipe())
    asked: list[Puzzle] = []

    def unique(puzzle: Puzzle) -> bool:
        asked.append(puzzle)
        return solve(puzzle).outcome is Outcome.SOUND

    hard = harden(made, 5, unique, fewest=20, largest=5)
    assert 20 <= len(hard.puzzle.cages) < len(made.puzzle.cages)
    assert hard.answer == made.answer
    assert obeys(hard.puzzle, hard.answer)
    assert max(len(cage.cells) for cage in hard.puzzle.cages) <= max(5, *(len(c.cells) for c in made.puzzle.cages))
    assert all(connected(cage.cells) for cage in hard.puzzle.cages)
    assert solve(hard.puzzle).outcome is Outcome.SOUND
    assert len(set(asked)) == len(asked)
    assert harden(made, 5, lambda puzzle: False).puzzle.cages == made.puzzle.cages


def test_the_judge_decides() -> None:
    """With a judge that gives up on everything there is no puzzle, and the error says what to change."""
    with pytest.raises(ComposeError, match="smaller cages or fewer rules"):
        compose(1, Recipe(size=4, tries=2), lambda puzzle: Verdict(Outcome.UNDECIDED, None, None, 0))
