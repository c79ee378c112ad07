"""Odd cage sets, drawn by hypothesis and written out: both outside engines agree with us."""

from __future__ import annotations

import random
from dataclasses import replace
from types import ModuleType

import pytest
from hypothesis import Phase, find, given, settings
from hypothesis import strategies as st

from cagework.solver.model import Cage, Cell, Given, Puzzle, grid_cells, standard_houses
from cagework.solver.search.exact import Outcome, Verdict, random_answer, solve

NINE = Puzzle(9, standard_houses(9), ())
ANSWER = "215647398368952174794381652586274931142593867973816425821739546659428713437165289"  # CSPLib 057
DRAWN = settings(max_examples=500, derandomize=True, database=None, phases=(Phase.generate,))
GIVENS = tuple(Given(cell, int(digit)) for cell, digit in zip(grid_cells(9), ANSWER, strict=True))
ROW = tuple(Cell(1, col) for col in range(1, 10))
SNAKE = (Cell(3, 3), Cell(3, 4), Cell(4, 4), Cell(4, 3))

CASES: dict[str, tuple[Puzzle, Outcome]] = {
    "nothing but houses": (NINE, Outcome.TWO_ANSWERS),
    "all givens": (replace(NINE, givens=GIVENS), Outcome.SOUND),
    "all givens but one": (replace(NINE, givens=GIVENS[1:]), Outcome.SOUND),
    "a given that clashes": (replace(NINE, givens=(*GIVENS[1:], Given(Cell(1, 1), 1))), Outcome.NO_ANSWER),
    "two givens in one cell": (
        replace(NINE, givens=(Given(Cell(1, 1), 1), Given(Cell(1, 1), 2))), Outcome.NO_ANSWER),
    "every cell a cage": (
        replace(NINE, cages=tuple(Cage((each.cell,), each.digit) for each in GIVENS)), Outcome.SOUND),
    "a row as a cage": (replace(NINE, cages=(Cage(ROW, 45),), givens=GIVENS[9:]), Outcome.SOUND),
    "a row with a wrong total": (replace(NINE, cages=(Cage(ROW, 44),)), Outcome.NO_ANSWER),
    "a cage of more cells than digits": (
        Puzzle(4, standard_houses(4), (Cage((*ROW[:4], Cell(2, 1)), None),)), Outcome.NO_ANSWER),
    "a total out of reach": (replace(NINE, cages=(Cage(ROW[:2], 18),)), Outcome.NO_ANSWER),
    "a total of nought": (replace(NINE, cages=(Cage(ROW[:1], 0),)), Outcome.NO_ANSWER),
    "a total below nought": (replace(NINE, cages=(Cage(ROW[:2], -4),)), Outcome.NO_ANSWER),
    "an enormous total": (replace(NINE, cages=(Cage(SNAKE, 400),)), Outcome.NO_ANSWER),
    "overlapping cages": (
        replace(NINE, cages=(Cage(ROW[:2], 3), Cage(ROW[1:3], 6))), Outcome.TWO_ANSWERS),
    "overlapping cages that clash": (
        replace(NINE, cages=(Cage(ROW[:2], 3), Cage(ROW[1:3], 12))), Outcome.NO_ANSWER),
    "a cage twice": (replace(NINE, cages=(Cage(ROW[:2], 3), Cage(ROW[:2], 3))), Outcome.TWO_ANSWERS),
    "a cage with two totals": (replace(NINE, cages=(Cage(ROW[:2], 3), Cage(ROW[:2], 4))), Outcome.NO_ANSWER),
    "cages without totals": (replace(NINE, cages=(Cage(SNAKE, None),)), Outcome.TWO_ANSWERS),
    "no houses": (Puzzle(4, (), (Cage((Cell(1, 1), Cell(4, 4)), 3),)), Outcome.TWO_ANSWERS),
}


@pytest.mark.parametrize("case", CASES)
def test_odd_puzzles(case: str, sat: ModuleType) -> None:
    puzzle, outcome = CASES[case]
    verdict = solve(puzzle)
    assert verdict.outcome is outcome
    assert sat.verdict(puzzle).outcome is outcome
    if outcome is Outcome.SOUND:
        assert str(verdict.answer) == ANSWER


@st.composite
def puzzles(draw: st.DrawFn) -> Puzzle:
    """Cages of 1 to `size` cells from anywhere, connected or not, and givens.

    Totals are none, any that so many digits can make, or those of one grid, so that all outcomes occur.
    """
    size = draw(st.sampled_from((4, 6)))
    plan = Puzzle(size, standard_houses(size), ())
    answer = random_answer(plan, random.Random(draw(st.integers(0, 99))))
    assert answer is not None
    truly = draw(st.booleans())
    cells = draw(st.permutations(grid_cells(size)))
    cages = []
    for count in draw(st.lists(st.integers(1, size), max_size=size * 3)):
        part, cells = tuple(cells[:count]), cells[count:]
        if truly and len(set(map(answer.at, part))) < len(part):
            part = part[:1]
        if part:
            least, most = len(part) * (len(part) + 1) // 2, len(part) * (2 * size - len(part) + 1) // 2
            total = sum(map(answer.at, part)) if truly else draw(st.none() | st.integers(least, most))
            cages.append(Cage(part, total))
    places = draw(st.lists(st.sampled_from(grid_cells(size)), max_size=4, unique=True))
    givens = [Given(cell, answer.at(cell) if truly else draw(st.integers(1, size))) for cell in places]
    return replace(plan, cages=tuple(cages), givens=tuple(givens))


def check(puzzle: Puzzle, engine: ModuleType) -> None:
    ours: Verdict = solve(puzzle)
    theirs: Verdict = engine.verdict(puzzle)
    assert ours.outcome is theirs.outcome
    if ours.outcome is Outcome.SOUND:
        assert ours.answer == theirs.answer


@pytest.mark.parametrize("outcome", [Outcome.SOUND, Outcome.NO_ANSWER, Outcome.TWO_ANSWERS])
def test_every_outcome_is_drawn(outcome: Outcome) -> None:
    found = find(puzzles(), lambda puzzle: solve(puzzle).outcome is outcome, settings=DRAWN)
    assert solve(found).outcome is outcome


@settings(max_examples=150, derandomize=True)
@given(puzzles())
def test_random_cage_sets_beside_sat(sat: ModuleType, puzzle: Puzzle) -> None:
    check(puzzle, sat)


@settings(max_examples=60, derandomize=True)
@given(puzzles())
def test_random_cage_sets_beside_cpsat(cpsat: ModuleType, puzzle: Puzzle) -> None:
    check(puzzle, cpsat)
