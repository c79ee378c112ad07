"""Rules a solver might forget: each fault is injected on a puzzle that it decides, and must be noticed.

Which dropped rules answers can reveal, and which they never can because the others imply them, follows Demoen
and Garcia de la Banda, "Redundant Sudoku rules" (TPLP 2012, arXiv 1207.5926). CP-SAT decides, with and without
the rule, which puzzles serve.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache
from types import ModuleType

import pytest

from cagework.solver.editing.compose import Recipe, compose, harden
from cagework.solver.model import HouseKind, Puzzle
from cagework.solver.search import exact, kernel, propagators
from cagework.solver.search.exact import Outcome, solve
from cagework.solver.search.kernel import Kernel, stated

Fault = Callable[[Puzzle], Puzzle]
SIX = Recipe(size=6)
NINE = Recipe()


def without(*names: str) -> Fault:
    return lambda puzzle: replace(puzzle, houses=tuple(h for h in puzzle.houses if h.name not in names))


def without_kind(kind: HouseKind) -> Fault:
    return lambda puzzle: replace(puzzle, houses=tuple(h for h in puzzle.houses if h.kind is not kind))


def without_pairs(puzzle: Puzzle) -> Puzzle:
    return replace(puzzle, pairs=())


def without_two_cages(puzzle: Puzzle) -> Puzzle:
    rng = random.Random(len(puzzle.cages))
    gone = rng.sample(puzzle.cages, 2)
    return replace(puzzle, cages=tuple(cage for cage in puzzle.cages if cage not in gone))


FAULTS: dict[str, tuple[Recipe, Fault]] = {
    "two rows of a band, 6": (SIX, without("row 3", "row 4")),
    "two rows of a band, 9": (NINE, without("row 4", "row 5")),
    "two columns of a stack, 6": (SIX, without("column 1", "column 3")),
    "two columns of a stack, 9": (NINE, without("column 7", "column 9")),
    "four boxes in a rectangle, 6": (SIX, without("box 1", "box 2", "box 5", "box 6")),
    "four boxes in a rectangle, 9": (NINE, without("box 1", "box 2", "box 4", "box 5")),
    "all rows": (SIX, without_kind(HouseKind.ROW)),
    "all columns": (SIX, without_kind(HouseKind.COLUMN)),
    "all boxes": (SIX, without_kind(HouseKind.REGION)),
    "a diagonal": (Recipe(size=6, rules=("diagonals",)), without("falling diagonal")),
    "all windows": (Recipe(rules=("windows",)), without(*(f"window {n}" for n in range(1, 5)))),
    "the knight's move": (Recipe(size=6, rules=("knight",)), without_pairs),
    "consecutive neighbours": (Recipe(size=6, rules=("nonconsecutive",)), without_pairs),
    "odd cells": (Recipe(size=6, rules=("odd",)), lambda puzzle: replace(puzzle, domains=())),
    "a line's sum": (Recipe(size=6, rules=("sum_line",)), lambda puzzle: replace(puzzle, sums=())),
    "what lies between": (Recipe(size=6, rules=("between",)), lambda puzzle: replace(puzzle, betweens=())),
    "two cages": (NINE, without_two_cages),
}


def hardened(recipe: Recipe) -> Iterator[Puzzle]:
    """Sound puzzles with few cages. CP-SAT confirms below; our own search only makes them quickly."""
    for seed in range(60):
        yield merged(recipe.size, recipe.rules, seed)


@lru_cache
def merged(size: int, rules: tuple[str, ...], seed: int) -> Puzzle:
    """One of them; several faults look at the same ones."""
    made = compose(seed, Recipe(size=size, rules=rules))
    return harden(made, seed, lambda puzzle: solve(puzzle).outcome is Outcome.SOUND).puzzle


def blind(monkeypatch: pytest.MonkeyPatch, lowering: Callable[[Puzzle], Kernel]) -> None:
    """Make the search work from another lowering, and take the recheck away."""
    monkeypatch.setattr(exact, "stated", lowering)
    monkeypatch.setattr(exact, "obeys", lambda puzzle, answer: True)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_forgotten_rule_changes_the_verdict(
    fault: str, cpsat: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    recipe, drop = FAULTS[fault]
    served = 0
    for puzzle in hardened(recipe):
        if cpsat.verdict(drop(puzzle)).outcome is not Outcome.TWO_ANSWERS:
            continue
        assert cpsat.verdict(puzzle).outcome is solve(puzzle).outcome is Outcome.SOUND
        with monkeypatch.context() as patch:
            blind(patch, lambda each: stated(drop(each)))
            assert solve(puzzle).outcome is Outcome.TWO_ANSWERS
        with monkeypatch.context() as patch:
            patch.setattr(exact, "stated", lambda each: stated(drop(each)))
            with pytest.raises(RuntimeError, match="breaks the puzzle"):
                solve(puzzle)
        served += 1
        if served == (2 if recipe.size == 6 else 1):  # CP-SAT takes a second or two for each of the large ones
            return
    pytest.fail(f"no puzzle hangs on: {fault}")


def test_a_sum_that_reckons_one_too_many_is_noticed(
    cpsat: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By CP-SAT, which has another answer than a search whose lines add to one more than their circles."""
    right, wrong = kernel._add_total, 0
    monkeypatch.setattr(exact, "obeys", lambda puzzle, answer: True)
    monkeypatch.setattr(kernel, "_add_total", lambda couples, tiers, shape, one, *others: right(
        couples, tiers, shape, replace(one, totals=tuple([made + 1 for made in one.totals])), *others))
    for puzzle, _ in zip(hardened(Recipe(size=6, rules=("sum_line",))), range(4), strict=False):
        theirs = cpsat.verdict(puzzle)
        ours = solve(puzzle)
        wrong += (ours.outcome, ours.answer) != (theirs.outcome, theirs.answer)
    assert wrong == 4


def with_repeats(puzzle: Puzzle) -> Kernel:
    """A lowering whose cages add up but may repeat a digit."""
    facts = stated(replace(puzzle, cages=()))
    for cage in puzzle.cages:
        assert cage.total is not None
        cells = [(cell.row - 1) * puzzle.size + cell.col - 1 for cell in cage.cells]
        shape = facts.ground.fields
        fact = propagators.balance(shape, cells, (), cage.total, [0] * len(puzzle.cells))
        facts.tiers[0].append((shape.of(cells), {}, fact, cells))
    return facts


def test_cages_that_may_repeat_change_the_verdict(
    cpsat: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Repeating(cpsat.Oracle):  # type: ignore[misc, name-defined]
        """Distinct digits in houses only: each puzzle's houses are stated before its cages."""

        def different(self, cells: tuple[object, ...]) -> None:
            if cells in {house.cells for house in puzzle.houses}:
                super().different(cells)

    served = 0
    for puzzle in hardened(SIX):
        if Repeating(puzzle).verdict().outcome is not Outcome.TWO_ANSWERS:
            continue
        assert cpsat.verdict(puzzle).outcome is solve(puzzle).outcome is Outcome.SOUND
        with monkeypatch.context() as patch:
            blind(patch, with_repeats)
            assert solve(puzzle).outcome is Outcome.TWO_ANSWERS
        served += 1
        if served == 2:
            return
    pytest.fail("no puzzle hangs on cages without repeats")
