"""Crossing sums reasoned through: each step proved, agreed with by CP-SAT, and said of runs."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest

from cagework.solver.crossing import is_across
from cagework.solver.editing.compose import Composed
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing, harden_crossing
from cagework.solver.model import Cell
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.grade import rate
from cagework.solver.reasoning.reason import Path, PathOutcome, explain
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.techniques import TECHNIQUES

RECIPES = (CrossingRecipe(5, 5), CrossingRecipe(6, 9), CrossingRecipe(9, 9, longest=7, black=0.2),
           CrossingRecipe(12, 8))


@pytest.fixture(scope="module")
def paths() -> list[tuple[Composed, Path]]:
    """Composed puzzles and their paths; one sum of every fifth is left out, so that some end early."""
    made = [compose_crossing(seed, recipe) for seed in range(5) for recipe in RECIPES]
    loosened = [replace(one, puzzle=replace(one.puzzle, cages=(
        *one.puzzle.cages[:3], replace(one.puzzle.cages[3], total=None), *one.puzzle.cages[4:])))
        for one in made[::5]]
    return [(one, explain(one.puzzle, what_ifs=10)) for one in (*made, *loosened)]


def test_every_step_is_proved_and_leads_to_the_answer(paths: list[tuple[Composed, Path]]) -> None:
    for made, path in paths:
        assert Prover(made.puzzle).first_unproved(stage.step for stage in path.stages) is None
        for stage in path.stages:
            assert all(not mask >> made.answer.at(cell) - 1 & 1 for cell, mask in stage.step.removes)
            assert all(made.answer.at(cell) == digit for cell, digit in stage.step.places)
    solved = [made for made, path in paths if path.outcome is PathOutcome.SOLVED and path.answer == made.answer]
    assert len(solved) >= 0.8 * len(paths)


def test_cpsat_agrees(paths: list[tuple[Composed, Path]], step_oracle: Any) -> None:
    rng = random.Random(16)
    for _, path in paths:
        for stage in rng.sample(path.stages, min(4, len(path.stages))):
            assert step_oracle.follows(9, stage.step), stage.step


def test_what_areas_of_runs_leave_is_so_of_the_answer(paths: list[tuple[Composed, Path]]) -> None:
    """By arithmetic: from the printed puzzle, and with half of the answer filled in."""
    rng = random.Random(8)
    seen = 0
    for made, _ in paths:
        frame = Frame(made.puzzle)
        for filled in (0.0, 0.5):
            state = State(frame)
            for number, cell in enumerate(frame.cells):
                if rng.random() < filled:
                    state.place(number, 1 << made.answer.at(cell) - 1)
            for place, area in enumerate(frame.areas):
                balance, cells = state.balance(place), [set(frame.group(part).cells) for part in area.added]
                assert sum(map(len, cells)) == len(set[Cell]().union(*cells)) > max(map(len, cells))
                plus, minus = ([made.answer.at(frame.cells[cell]) for cell in side]
                               for side in (balance.plus, balance.minus))
                assert sum(plus) - sum(minus) == balance.total
                seen += bool(balance.taken)
    assert seen > 1000


def test_areas_of_runs_spare_suppositions(paths: list[tuple[Composed, Path]]) -> None:
    """Of hard puzzles; and each that is told rests on runs across and runs down."""
    without = {name: one for name, one in TECHNIQUES.items() if not name.startswith("area_")}
    supposed: Counter[bool] = Counter()
    for seed in range(12):
        easy = compose_crossing(seed, CrossingRecipe(7, 7, longest=6, black=0.2))
        made = harden_crossing(easy, seed, changes=60)
        for told, techniques in ((True, TECHNIQUES), (False, without)):
            steps = [stage.step for stage in explain(made.puzzle, what_ifs=10, techniques=techniques).stages]
            supposed[told] += sum(bool(step.parts) for step in steps)
            for step in steps:
                if step.technique.startswith("area_"):
                    ((added, taken),) = step.cites.additions
                    ways = [{is_across(one.cells) for one in side} for side in (added, taken)]
                    assert len(added) > 1 and ways in ([{True}, {False}], [{False}, {True}])
    assert supposed[True] < 0.7 * supposed[False]


def test_a_board_without_its_cells_is_not_proved(paths: list[tuple[Composed, Path]]) -> None:
    """What a step says is missing must be missing: before any step nothing is."""
    for made, path in paths[:6]:
        late = next(stage.step for stage in path.stages[len(path.stages) // 2:] if stage.step.cites.eliminated)
        assert not Prover(made.puzzle).prove(Prover(made.puzzle).board().candidates, late)


def test_a_grade_counts_cells(paths: list[tuple[Composed, Path]]) -> None:
    for made, path in paths:
        effort = sum(stage.step.cost / stage.openings for stage in path.stages) / len(made.answer.digits)
        assert rate(path).effort > effort      # fewer cells than squares
