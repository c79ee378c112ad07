"""A thousand false steps, forged from true ones of every technique, and none is accepted.

`tests/bench/forged.py` draws as many as it is asked for, from any seed.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from types import ModuleType
from typing import Any

import pytest

from cagework.solver.editing.compose import Recipe, compose, harden
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import explain
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.search.exact import Outcome, solve

EACH = 25

PUZZLES = (
    (Recipe(), 2, False), (Recipe(irregular=True), 4, True), (Recipe(irregular=True), 2, False),
    (Recipe(rules=("diagonals",)), 1, False), (Recipe(rules=("nonconsecutive",)), 5, False),
    (Recipe(sizes={2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0}), 5, True), (Recipe(rules=("knight",)), 0, False),
    (Recipe(rules=("windows",)), 0, False), (Recipe(size=6), 1, False), (Recipe(size=4), 1, False),
    (Recipe(size=10, sizes={2: 6.0, 3: 3.0}, dominoes=1.0), 1, False),
)
"""Recipe, seed, and whether cages are merged while there is one answer; chosen for their techniques."""


@pytest.fixture(scope="module")
def moments(forge: ModuleType, cases: dict[str, Any], position: Callable[..., Any]) -> list[Any]:
    """Steps where they stand: of whole paths, and of the position made for each technique."""
    found: list[Any] = []
    for recipe, seed, merged in PUZZLES:
        made = compose(seed, recipe)
        if merged:
            made = harden(made, seed, lambda trial: solve(trial, nodes=200).outcome is Outcome.SOUND, fewest=22)
        path = explain(made.puzzle, what_ifs=3)
        found += forge.moments(made.puzzle, made.answer, (stage.step for stage in path.stages))
    for name, case in cases.items():
        here = position(**case)
        board = tuple(here.state.candidates)
        answer = forge.fitting(here.puzzle, board)
        if answer is not None:
            found += [forge.Moment(here.puzzle, answer, board, step) for step in here.found(name)]
    return found


def test_the_steps_that_are_forged_hold_before(moments: list[Any]) -> None:
    assert {moment.step.technique for moment in moments} == TECHNIQUES.keys()
    for moment in moments[::5]:
        assert Prover(moment.puzzle).prove(moment.board, moment.step)


def test_no_forged_step_is_accepted(forge: ModuleType, moments: list[Any]) -> None:
    tally = forge.Tally()
    supposing = [moment for moment in moments if moment.step.parts]
    for drawn, each in ((moments, EACH), (supposing, 10 * EACH)):
        for one in forge.Forger(drawn, random.Random(each)).forged(each):
            assert one.denies_the_answer
            tally.add(one)
    assert tally.accepted == []
    supposed = {moment.step.technique for moment in supposing}
    assert tally.techniques == {name: EACH if name not in supposed else 11 * EACH for name in TECHNIQUES}
    assert tally.techniques.total() > 1000
    assert min(tally.lies[lie] for lie in forge.LIES) >= 10
    # A lie that makes something up would convince a proof that believed it: nothing else is wrong with the step.
    assert {lie for lie in forge.LIES if tally.believable[lie] >= 5} == forge.CONVINCING
