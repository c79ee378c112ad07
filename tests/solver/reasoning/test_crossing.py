"""Crossing sums reasoned through: each step proved, agreed with by CP-SAT, and said of runs."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest

from cagework.solver.editing.compose import Composed
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import rate
from cagework.solver.reasoning.reason import Path, PathOutcome, explain

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


def test_a_board_without_its_cells_is_not_proved(paths: list[tuple[Composed, Path]]) -> None:
    """What a step says is missing must be missing: before any step nothing is."""
    for made, path in paths[:6]:
        late = next(stage.step for stage in path.stages[len(path.stages) // 2:] if stage.step.cites.eliminated)
        assert not Prover(made.puzzle).prove(Prover(made.puzzle).board().candidates, late)


def test_a_grade_counts_cells(paths: list[tuple[Composed, Path]]) -> None:
    for made, path in paths:
        effort = sum(stage.step.cost / stage.openings for stage in path.stages) / len(made.answer.digits)
        assert rate(path).effort > effort      # fewer cells than squares
