"""Crossing sums beside CP-SAT, which is told the map and the sums and nothing of our facts."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from functools import partial
from itertools import product
from pathlib import Path
from types import ModuleType

import pytest

from cagework.solver.crossing import crossing_sums, runs
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing, harden_crossing, pattern
from cagework.solver.editing.why import conflict
from cagework.solver.model import Cage, Cell, Given, Puzzle, Shape
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import Reach, explain
from cagework.solver.recheck import obeys
from cagework.solver.search.exact import Outcome, random_answer, solve
from cagework.solver.symmetry import Motion, Relation, canonical, relation
from cagework.typeset.manifest.load import load_book

Sums = tuple[list[int], list[int]]

RECIPES = {
    **{f"{side} by {side}": CrossingRecipe(side, side) for side in (5, 6, 7, 8, 10)},
    "wide": CrossingRecipe(6, 14),
    "tall": CrossingRecipe(13, 5),
    "long runs": CrossingRecipe(9, 9, longest=7, black=0.2),
}
COUNT = 3
WIDE_OPEN = [
    "#..##....", "...#.....", "..#..#..#", "..#..#..#", "..#...#..",
    "#..#..#..", "#..#..#..", ".....#...", "....##..#",
]
WIDE_OPEN_SUMS = ([7, 18, 16, 17, 12, 9, 9, 9, 7, 7, 7, 20, 16, 17, 12, 9, 8, 8, 8, 30, 20, 20, 10],
                  [23, 16, 45, 4, 27, 8, 6, 37, 3, 18, 24, 10, 45, 5, 25])


def lines_of(shape: Shape) -> list[str]:
    white = set(shape.cells)
    return ["".join("." if (row, col) in white else "#" for col in range(1, shape.columns + 1))
            for row in range(1, shape.rows + 1)]


def sums_of(puzzle: Puzzle) -> Sums:
    assert puzzle.shape is not None
    across, _ = runs(puzzle.shape)
    totals = [cage.total or 0 for cage in puzzle.cages]
    return totals[:len(across)], totals[len(across):]


def shape_of(lines: list[str]) -> Shape:
    return Shape(len(lines), len(lines[0]), tuple(
        Cell(row, col)
        for row, line in enumerate(lines, 1) for col, square in enumerate(line, 1) if square == "."))


@pytest.mark.parametrize("kind", RECIPES)
def test_composed_puzzles_have_one_answer(kind: str, crossed: ModuleType) -> None:
    for seed in range(COUNT):
        made = compose_crossing(seed, RECIPES[kind])
        assert made.puzzle.shape is not None
        assert crossed.answers(lines_of(made.puzzle.shape), *sums_of(made.puzzle)) == [str(made.answer)]
        verdict = solve(made.puzzle)
        assert (verdict.outcome, verdict.answer) == (Outcome.SOUND, made.answer)


def test_the_samples_are_answered_and_told_by_reasoning(crossed: ModuleType) -> None:
    book = load_book(Path(__file__).parents[2] / "books" / "clear-skies" / "book.yaml").book
    assert book is not None
    samples = [entry.puzzle for entry in book.entries if entry.puzzle.shape]
    assert {max(puzzle.rows, puzzle.columns) for puzzle in samples} >= {5, 12}
    for puzzle in samples:
        assert puzzle.shape is not None
        found = explain(puzzle)
        assert found.reach is Reach.WHOLE
        assert crossed.answers(lines_of(puzzle.shape), *sums_of(puzzle)) == [str(found.answer)]
        assert Prover(puzzle).first_unproved(stage.step for stage in found.stages) is None


def test_twenty_by_twenty(crossed: ModuleType) -> None:
    made = compose_crossing(3, CrossingRecipe(20, 20, longest=4, black=0.4))
    assert made.puzzle.shape is not None
    assert crossed.answers(lines_of(made.puzzle.shape), *sums_of(made.puzzle)) == [str(made.answer)]
    assert solve(made.puzzle).answer == made.answer


def test_hardened_puzzles_keep_one_answer(crossed: ModuleType) -> None:
    """And leave the search choices, some of them."""
    nodes = 0
    for seed in range(3):
        easy = compose_crossing(seed, CrossingRecipe(8, 8, longest=7, black=0.2))
        made = harden_crossing(easy, seed, changes=100)
        assert made.puzzle.shape is not None
        assert crossed.answers(lines_of(made.puzzle.shape), *sums_of(made.puzzle)) == [str(made.answer)]
        verdict = solve(made.puzzle)
        assert (verdict.outcome, verdict.answer) == (Outcome.SOUND, made.answer)
        nodes += verdict.nodes
    assert nodes > 0


def test_a_wide_open_puzzle(crossed: ModuleType) -> None:
    """One that keeps the search busy."""
    verdict = solve(crossing_sums(shape_of(WIDE_OPEN), *WIDE_OPEN_SUMS))
    assert crossed.answers(WIDE_OPEN, *WIDE_OPEN_SUMS) == [str(verdict.answer)]
    assert verdict.outcome is Outcome.SOUND and verdict.nodes > 3


def test_drawn_puzzles(crossed: ModuleType) -> None:
    """Grids filled at random, with some digits given and cells in one run only; every third has wrong sums."""
    outcomes: Counter[Outcome] = Counter()
    for seed in range(80):
        rng = random.Random(f"crossed {seed}")
        lines = drawn_map(rng)
        shape = shape_of(lines)
        counts = [len(found) for found in runs(shape)]
        assert list(map(len, crossed.runs_of(lines))) == counts
        bare = crossing_sums(shape, *[[45] * count for count in counts])
        free = Puzzle(9, (), tuple(type(cage)(cage.cells, None) for cage in bare.cages), shape=shape)
        answer = random_answer(free, rng)
        assert answer is not None
        across, down = ([sum(map(answer.at, run)) for run in found] for found in runs(shape))
        if seed % 3 == 0:
            for sums, by in ((across, 1), (down, rng.choice((1, -1)))):
                sums[int(rng.random() * len(sums))] += by
        share = rng.choice((0, 0.3, 0.6))
        givens = [Given(cell, answer.at(cell)) for cell in shape.cells if rng.random() < share]
        puzzle = replace(crossing_sums(shape, across, down), givens=tuple(givens))
        verdict = solve(puzzle)
        theirs = crossed.answers(lines, across, down, given={
            (one.cell.row - 1, one.cell.col - 1): one.digit for one in givens})
        outcomes[verdict.outcome] += 1
        assert {0: Outcome.NO_ANSWER, 1: Outcome.SOUND, 2: Outcome.TWO_ANSWERS}[len(theirs)] is verdict.outcome
        if len(theirs) == 1:
            assert str(verdict.answer) == theirs[0]
        for one in (verdict.answer, verdict.second):
            assert one is None or obeys(puzzle, one)
    assert min(outcomes[one] for one in (Outcome.SOUND, Outcome.NO_ANSWER, Outcome.TWO_ANSWERS)) > 5, outcomes


def drawn_map(rng: random.Random) -> list[str]:
    """A small map in which each white square is in a run of two or more, if only in one direction."""
    rows, columns = rng.choice(((3, 4), (4, 4), (5, 4), (5, 6)))
    white = {spot for spot in product(range(rows), range(columns)) if rng.random() < 0.75}
    white = {(row, col) for row, col in white
             if white & {(row - 1, col), (row + 1, col), (row, col - 1), (row, col + 1)}}
    return ["".join("." if (row, col) in white else "#" for col in range(columns)) for row in range(rows)]


def test_parts_that_contradict_are_all_needed(cpsat: ModuleType) -> None:
    """With wrong sums: CP-SAT finds no answer to the runs named, and one where any of them is left out."""
    tried = 0
    for seed in range(9):
        made = compose_crossing(seed, CrossingRecipe(6, 6))
        cages = list(made.puzzle.cages)
        for number, by in ((0, 1), (-1, 1)):
            cages[number] = replace(cages[number], total=(cages[number].total or 0) + by)
        wrong = replace(made.puzzle, cages=tuple(cages))
        if cpsat.verdict(wrong).outcome is not Outcome.NO_ANSWER:
            continue
        tried += 1
        found = conflict(wrong, seconds=None)
        assert found.minimal
        runs_at_odds = [member for member in found.members if isinstance(member, Cage)]
        assert len(runs_at_odds) == len(found.members)
        only = partial(Puzzle, 9, (), shape=made.puzzle.shape)
        assert cpsat.verdict(only(cages=tuple(runs_at_odds))).outcome is Outcome.NO_ANSWER
        for spared in runs_at_odds:
            rest = tuple(one for one in runs_at_odds if one is not spared)
            assert cpsat.verdict(only(cages=rest)).outcome is not Outcome.NO_ANSWER
    assert tried >= 3


def test_small_answers_by_counting(crossed: ModuleType) -> None:
    """Two rows of two that make 3 and 7, columns that make 4 and 6: 1 2 over 3 4, and nothing else."""
    verdict = solve(crossing_sums(shape_of(["..", ".."]), [3, 7], [4, 6]))
    assert str(verdict.answer) == "1234"
    assert verdict.outcome is Outcome.SOUND
    # The last cell across is in no run down; 17 is 8 and 9, and 23 is 6, 8 and 9.
    verdict = solve(crossing_sums(shape_of(["#..", "#.#", "#.#"]), [17], [23]))
    assert verdict.outcome is Outcome.TWO_ANSWERS       # down 9 6 8, 9 8 6, 8 6 9, 8 9 6
    assert len(crossed.answers(["#..", "#.#", "#.#"], [17], [23], 9)) == 4
    with pytest.raises(ValueError):
        crossing_sums(shape_of(["..", ".."]), [3], [4, 6])


def test_a_run_of_ten_has_no_filling() -> None:
    assert solve(crossing_sums(shape_of([".........."]), [45], [])).outcome is Outcome.NO_ANSWER


def test_an_answer_elsewhere_is_none() -> None:
    """Digits on black squares, and grids of another shape, answer nothing."""
    puzzle = crossing_sums(shape_of(["..#", "..#"]), [3, 7], [4, 6])
    answer = solve(puzzle).answer
    assert answer is not None and str(answer) == "12.34." and obeys(puzzle, answer)
    assert not obeys(puzzle, type(answer)(3, (1, 2, 5, 3, 4, 0)))
    assert not obeys(puzzle, type(answer)(2, (1, 2, 3, 4)))


def test_turned_puzzles_are_one() -> None:
    """A rectangle turned to the right, and its digits taken from ten."""
    lines = ["..#", "...", "#..", "#.."]
    turned = ["".join(column)[::-1] for column in zip(*lines, strict=True)]
    across, down = [3, 19, 9, 5], [4, 24, 15]
    one = crossing_sums(shape_of(lines), across, down)
    # What went down, from the left, goes across from the top, read from the other end; rows become columns.
    other = crossing_sums(shape_of(turned), down, across[::-1])
    assert relation(one, other) == Relation(Motion.QUARTER_RIGHT, complemented=False)
    assert canonical(one) == canonical(other)
    ten = [10 * len(run) for found in runs(shape_of(lines)) for run in found]
    totals = [most - total for most, total in zip(ten, (*across, *down), strict=True)]
    complement = crossing_sums(shape_of(lines), totals[:4], totals[4:])
    assert relation(one, complement) == Relation(Motion.NONE, complemented=True)
    framed = crossing_sums(shape_of(["####", *["#" + line for line in lines]]), across, down)
    assert relation(one, framed) == Relation(Motion.NONE, complemented=False)
    less = crossing_sums(shape_of(lines), [3, 19, 9, 6], [4, 24, 16])
    assert relation(one, less) is None


def test_patterns_are_the_trades() -> None:
    """Cells hang together, each crosses two runs, and half a turn leaves them as they are (common practice)."""
    for seed in range(20):
        shape = pattern(CrossingRecipe(9, 11), random.Random(seed))
        across, down = runs(shape)
        assert {c for run in across for c in run} == {c for run in down for c in run} == set(shape.cells)
        assert {(10 - row, 12 - col) for row, col in shape.cells} == set(shape.cells)
