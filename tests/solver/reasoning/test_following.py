"""Suppositions followed to a dead end: every argument proved, and by CP-SAT; fewer links where there are fewer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cell
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.following import Argument, Following
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.reason import PathOutcome, explain
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.reasoning.techniques.what_if import WhatIf
from cagework.solver.step import Cites, Step

WHAT_IF = TECHNIQUES["what_if"]
assert isinstance(WHAT_IF, WhatIf)
FOLLOWING = Following((one for one in TECHNIQUES.values() if one.simple), WHAT_IF.dead_end)


def supposed(cell: Cell, digit: int) -> Step:
    return Step("what_if", 0, "removes", ((cell, digit),), (), Cites(), {"cell": cell, "digit": digit})


def concluded(cell: Cell, digit: int, argument: Argument) -> Step:
    return Step("what_if", 0, "removes", (), ((cell, 1 << digit - 1),), argument.cites, parts=argument.parts)


@pytest.fixture(scope="module")
def stuck() -> State:
    """Where nothing is left to a reader but to suppose."""
    path = explain(compose(2, Recipe(sizes={2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0})).puzzle, what_ifs=0)
    assert path.outcome is PathOutcome.OUT_OF_BUDGET
    state = State(Frame(path.puzzle))
    for stage in path.stages:
        state.apply(stage.step)
    return state


def test_an_argument_looked_for_again_has_no_more_links_and_is_one(stuck: State, step_oracle: ModuleType) -> None:
    prover, before, after = Prover(stuck.frame.puzzle), [], []
    for cell, index in stuck.doomed():
        name, digit = stuck.frame.cells[cell], index + 1
        first = FOLLOWING.argument(stuck, supposed(name, digit))
        if first is None:
            continue
        shorter = FOLLOWING.shortened(first, 0)
        assert len(shorter.parts) <= len(first.parts)
        for argument in (first, shorter):
            assert prover.prove(stuck.candidates, concluded(name, digit, argument))
        assert step_oracle.follows(9, concluded(name, digit, shorter))
        before.append(len(first.parts))
        after.append(len(shorter.parts))
    assert len(after) > 3
    assert sum(after) < sum(before)


def test_no_link_of_an_argument_is_idle(stuck: State) -> None:
    prover = Prover(stuck.frame.puzzle)
    links = 0
    for cell, index in stuck.doomed():
        name, digit = stuck.frame.cells[cell], index + 1
        first = FOLLOWING.argument(stuck, supposed(name, digit))
        if first is None:
            continue
        step = concluded(name, digit, first)
        for number in range(len(first.parts)):
            parts = first.parts[:number] + first.parts[number + 1:]
            assert not prover.prove(stuck.candidates, replace(step, parts=parts))
            links += 1
    assert links > 20


def test_enough_is_enough(stuck: State) -> None:
    found = [(one, FOLLOWING.argument(stuck, supposed(stuck.frame.cells[one[0]], one[1] + 1)))
             for one in stuck.doomed()]
    for _, argument in found:
        if argument is not None:
            assert FOLLOWING.shortened(argument, len(argument.parts)) is argument


def test_what_leads_to_nothing_has_no_argument(position: Callable[..., Any]) -> None:
    here = position(hold=["r1c1 = 12", "r1c2 = 13", "r2c1 = 13"])
    assert FOLLOWING.argument(here.state, supposed(Cell(1, 1), 2)) is None
    found = FOLLOWING.argument(here.state, supposed(Cell(1, 1), 1))
    assert found is not None
    assert len(found.parts) == 2     # r1c2 is 3, and nothing is left for r2c1


def test_to_follow_a_supposition_changes_nothing(stuck: State) -> None:
    before, log = stuck.candidates[:], stuck.log[:]
    for cell, index in stuck.doomed()[:3]:
        found = FOLLOWING.argument(stuck, supposed(stuck.frame.cells[cell], index + 1))
        if found is not None:
            FOLLOWING.shortened(found, 0)
    assert (stuck.candidates, stuck.log) == (before, log)
