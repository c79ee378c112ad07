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
    puzzle = hard_puzzle()
    answer = solve(puzzle).answer
    needed = solve(puzzle, near=answer).nodes
    verdicts = [solve(puzzle, nodes=nodes, near=answer) for nodes in range(needed)]
    assert {verdict.outcome for verdict in verdicts} == {Outcome.UNDECIDED}
    assert [verdict.answer for verdict in verdicts if verdict.answer] == [answer] * (needed - verdicts.index(
        next(verdict for verdict in verdicts if verdict.answer)))


LOOSE = """
    45: r1c1 r1c2 r1c4 r2c1 r2c2 r2c3 r2c4 r3c3 r3c4
    21: r1c5 r1c6 r2c5 r2c6 r2c7
    25: r1c7 r1c8 r1c9 r2c8 r2c9
    45: r3c5 r3c6 r3c7 r4c5 r4c6 r4c7 r4c8 r5c5 r5c6
    45: r4c3 r5c2 r5c3 r6c1 r6c2 r6c3 r7c1 r7c2 r8c2
    7: r5c9 r6c9
"""


def loose_grid() -> Puzzle:
    """Most cells free: one order of the search decides it in a moment, another not in a minute."""
    lines = [line.split(":") for line in LOOSE.strip().splitlines()]
    cages = tuple(Cage(tuple(map(Cell.parse, cells.split())), int(total)) for total, cells in lines)
    return replace(EMPTY, cages=cages)


def test_a_search_led_astray_starts_anew() -> None:
    """A single run tried 690,034 choices."""
    verdict = solve(loose_grid(), nodes=2000)
    assert verdict.outcome is Outcome.TWO_ANSWERS
    assert verdict == solve(loose_grid())


@pytest.mark.parametrize("share", [1.0, 3.0, 20.0])
def test_runs_broken_off_change_no_verdict(share: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """However often the search starts anew, it proves the same."""
    puzzle = hard_puzzle()
    sound = solve(puzzle)
    cages = list(puzzle.cages)
    for index, by in ((0, 1), (-1, -1)):
        cages[index] = replace(cages[index], total=(cages[index].total or 0) + by)
    wrong = replace(puzzle, cages=tuple(cages))
    loose = replace(puzzle, cages=puzzle.cages[::2])
    outcomes = [solve(each).outcome for each in (wrong, loose)]
    assert Outcome.SOUND not in outcomes
    monkeypatch.setattr(exact, "_FEW", share)
    monkeypatch.setattr(exact, "_SHARE", share)
    monkeypatch.setattr(exact, "_GROWTH", 1.1)
    assert solve(puzzle).answer == sound.answer
    assert solve(puzzle).outcome is Outcome.SOUND
    assert [solve(each).outcome for each in (wrong, loose)] == outcomes


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
    stated = exact.stated
    monkeypatch.setattr(exact, "stated", lambda puzzle: stated(replace(puzzle, cages=())))
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
    less = Pair.of(Cell(1, 1), Cell(1, 2), range(1, 5), lambda x, y: x < y)
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
