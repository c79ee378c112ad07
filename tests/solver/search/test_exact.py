from __future__ import annotations

import ast
import random
from dataclasses import replace
from pathlib import Path

import pytest

from cagework.solver import recheck
from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Answer, Cage, Cell, Given, House, HouseKind, Pair, Puzzle, standard_houses
from cagework.solver.recheck import obeys
from cagework.solver.search import exact
from cagework.solver.search.exact import Outcome, random_answer, solve

EMPTY = Puzzle(9, standard_houses(9), ())


def answers(puzzle: Puzzle) -> int:
    """Count all answers by `solve` alone: where there are two, split on a cell in which they differ."""
    verdict = solve(puzzle)
    if verdict.answer is None or verdict.second is None:
        return int(verdict.outcome is Outcome.SOUND)
    cell = next(cell for cell in puzzle.cells if verdict.answer.at(cell) != verdict.second.at(cell))
    return sum(
        answers(replace(puzzle, givens=(*puzzle.givens, Given(cell, digit))))
        for digit in range(1, puzzle.size + 1)
    )


def test_completed_grids_of_four() -> None:
    """288 grids with boxes; 576 Latin squares without (OEIS A107739, A002860)."""
    houses = standard_houses(4)
    assert answers(Puzzle(4, houses, ())) == 288
    assert answers(Puzzle(4, tuple(h for h in houses if h.kind is not HouseKind.REGION), ())) == 576


def hard_puzzle() -> Puzzle:
    """A sound puzzle that deduction alone does not solve."""
    for seed in range(50):
        puzzle = compose(seed, Recipe()).puzzle
        if solve(puzzle).nodes > 5:
            return puzzle
    raise AssertionError("no puzzle needed a search")


def test_budgets_never_claim_more_than_was_proved() -> None:
    puzzle = hard_puzzle()
    needed = solve(puzzle).nodes
    for nodes in range(needed):
        verdict = solve(puzzle, nodes=nodes)
        assert (verdict.outcome, verdict.second) == (Outcome.UNDECIDED, None)
        assert verdict.nodes == nodes
    assert solve(puzzle, nodes=needed) == solve(puzzle)
    assert solve(puzzle, seconds=0).outcome is Outcome.UNDECIDED
    assert solve(puzzle, seconds=1000).outcome is Outcome.SOUND


def test_an_answer_found_before_the_budget_ran_out_is_kept() -> None:
    verdicts = [solve(EMPTY, nodes=nodes) for nodes in range(solve(EMPTY).nodes)]
    assert {verdict.outcome for verdict in verdicts} == {Outcome.UNDECIDED}
    kept = [verdict.answer for verdict in verdicts if verdict.answer]
    assert kept
    assert all(obeys(EMPTY, answer) for answer in kept)


def test_two_answers_are_different_answers() -> None:
    verdict = solve(EMPTY)
    assert verdict.outcome is Outcome.TWO_ANSWERS
    assert verdict.answer is not None
    assert verdict.second is not None
    assert verdict.answer != verdict.second
    assert obeys(EMPTY, verdict.answer)
    assert obeys(EMPTY, verdict.second)


def test_a_grid_to_start_near_guides_the_search_and_proves_nothing() -> None:
    """A right grid is found first; grids that break the puzzle or have nothing to do with it change no verdict."""
    wanted = random_answer(EMPTY, random.Random(3))
    assert wanted is not None
    assert solve(EMPTY).answer != wanted
    assert solve(EMPTY, near=wanted).answer == wanted
    puzzle = hard_puzzle()
    sound = solve(puzzle)
    assert sound.answer is not None
    clash = replace(puzzle, givens=(Given(Cell(1, 1), sound.answer.at(Cell(1, 1)) % 9 + 1),))
    for near in (sound.answer, wanted, replace(wanted, digits=(1,) * 81)):
        found = solve(puzzle, near=near)
        assert (found.outcome, found.answer) == (sound.outcome, sound.answer)
        assert solve(clash, near=near).outcome is Outcome.NO_ANSWER


def test_the_same_puzzle_takes_the_same_nodes() -> None:
    puzzle = hard_puzzle()
    assert solve(puzzle) == solve(puzzle)


@pytest.mark.parametrize("kind", ["transposed", "turned", "complemented"])
def test_symmetries_keep_the_verdict(kind: str) -> None:
    """Transposes, turns and d -> 10 - d map answers to answers."""
    for seed in range(4):
        puzzle = compose(seed, Recipe()).puzzle
        verdict = solve(puzzle)
        assert verdict.answer is not None

        def moved(cell: Cell) -> Cell:
            if kind == "complemented":
                return cell
            return Cell(cell.col, cell.row if kind == "transposed" else 10 - cell.row)

        def digit(digit: int) -> int:
            return 10 - digit if kind == "complemented" else digit

        cages = tuple(
            Cage(tuple(map(moved, cage.cells)), sum(digit(verdict.answer.at(cell)) for cell in cage.cells))
            for cage in puzzle.cages
        )
        image = solve(replace(puzzle, cages=cages))
        assert image.outcome is Outcome.SOUND
        assert image.answer is not None
        assert all(image.answer.at(moved(cell)) == digit(verdict.answer.at(cell)) for cell in puzzle.cells)


def test_a_wrong_answer_from_the_search_is_never_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    lower = exact.lower
    monkeypatch.setattr(exact, "lower", lambda puzzle: lower(replace(puzzle, cages=())))
    with pytest.raises(RuntimeError, match="breaks the puzzle"):
        solve(replace(EMPTY, cages=(Cage((Cell(1, 1), Cell(1, 2)), 17),)))


def test_random_answers_obey_and_vary() -> None:
    found = [random_answer(EMPTY, random.Random(seed)) for seed in range(6)]
    assert len({answer.digits for answer in found if answer and obeys(EMPTY, answer)}) == 6
    assert random_answer(EMPTY, random.Random(0), nodes=3) is None
    clash = replace(EMPTY, givens=(Given(Cell(1, 1), 1), Given(Cell(1, 2), 1)))
    assert random_answer(clash, random.Random(0)) is None


def test_recheck_knows_the_model_and_nothing_else() -> None:
    tree = ast.parse(Path(recheck.__file__).read_text(encoding="utf-8"))
    imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert imported == {"__future__", "cagework.solver.model"}
    assert not any(isinstance(node, ast.Import) for node in ast.walk(tree))


def test_recheck_sees_each_kind_of_fault() -> None:
    answer = Answer(4, (1, 2, 3, 4, 3, 4, 1, 2, 2, 1, 4, 3, 4, 3, 2, 1))
    less = Pair.of(Cell(1, 1), Cell(1, 2), 4, lambda x, y: x < y)
    whole = Puzzle(4, standard_houses(4), (Cage((Cell(1, 1), Cell(2, 1)), 4), Cage((Cell(4, 4),), None)),
                   (Given(Cell(1, 1), 1),), (less,))
    assert obeys(whole, answer)
    ring = (Cell(1, 1), Cell(4, 4))
    faults = {
        "house": replace(whole, houses=(*whole.houses, House("stray", HouseKind.EXTRA, ring))),
        "cage total": replace(whole, cages=(Cage((Cell(1, 1), Cell(2, 1)), 5),)),
        "cage repeat": replace(whole, cages=(Cage(ring, 2),)),
        "cage repeat without total": replace(whole, cages=(Cage(ring, None),)),
        "given": replace(whole, givens=(Given(Cell(1, 1), 2),)),
        "pair": replace(whole, pairs=(replace(less, first=less.second, second=less.first),)),
        "size": Puzzle(6, (), ()),
    }
    assert [name for name, puzzle in faults.items() if obeys(puzzle, answer)] == []
    bare = Puzzle(4, (), ())
    assert not obeys(bare, replace(answer, digits=answer.digits[:-1]))
    assert not obeys(bare, replace(answer, digits=(5, *answer.digits[1:])))
    assert not obeys(bare, replace(answer, digits=(0, *answer.digits[1:])))
