"""A puzzle on which sums that rules state, taken from houses as cages are, lead on and nothing else does."""

from __future__ import annotations

from types import ModuleType

import pytest

from cagework.solver.model import Cage, Cell, Puzzle, Sum, standard_houses
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning import frame
from cagework.solver.reasoning.reason import PathOutcome, Reach, explain
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.rule import Named, with_facts
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome

CAGES = {
    "r1c2 r1c3 r2c2 r2c3": 14, "r2c5 r3c5 r4c5": 11, "r2c6 r3c6 r4c6": 11, "r3c1 r3c2 r3c3 r4c2 r5c2": 18,
    "r3c4 r4c3 r4c4": 10, "r5c3 r6c2 r6c3 r6c4": 12,
}
DIAGONALS = {
    "r1c2 r2c1": 5, "r5c1 r6c2": 6, "r5c6 r6c5": 6, "r1c3 r3c1": 7, "r1c4 r3c6": 10, "r4c1 r6c3": 10,
    "r1c4 r4c1": 17, "r1c3 r4c6": 13, "r3c1 r6c4": 11, "r3c6 r6c3": 15,
}


def cells(text: str) -> tuple[Cell, ...]:
    return tuple(map(Cell.parse, text.split()))


LINED = {
    "r1c1 r1c2 r1c3": 12, "r1c5 r1c6 r2c5 r2c6 r3c5": 16, "r2c1 r3c1 r4c1": 9, "r3c6 r4c5 r4c6 r5c5": 18,
    "r5c4 r5c6 r6c4 r6c5 r6c6": 17,
}
LINES = ("r4c5 r5c6 r6c5", "r5c4 r6c3 r5c2", "r3c6 r2c5 r1c4", "r2c6 r3c5 r4c4", "r3c1 r2c1 r2c2")


def test_a_line_and_its_circle_spare_suppositions(cpsat: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """r2c1 and r2c2 make as much as r3c1, outside their box: so with that r2c3 makes 9."""
    plain = Puzzle(6, standard_houses(6), tuple(Cage(cells(text), total) for text, total in LINED.items()))
    named = [Named(cells(text)) for text in LINES]
    puzzle = with_facts(plain, [fact for one in named for fact in RULES["sum_line"].read(6, one).facts()])
    assert cpsat.verdict(plain, tuple(("sum_line", one) for one in named)).outcome is Outcome.SOUND
    path = explain(puzzle)
    assert path.reach is Reach.WHOLE
    assert Prover(puzzle).first_unproved(stage.step for stage in path.stages) is None
    (step,) = [stage.step for stage in path.stages if {Sum} & set(map(type, stage.step.cites.reckoned))]
    assert step.why["now"] == Sum(cells("r2c3 r3c1"), (), (9,))
    monkeypatch.setattr(frame, "taken_together", lambda cells, sums: [])
    assert explain(puzzle).what_ifs > path.what_ifs


def test_a_puzzle_is_led_on_by_them_alone(cpsat: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """Box 5 adds to 21, one diagonal in it to 6, another to 10 with a cell outside: r5c3 and r6c1 make 5 more than
    r4c1. Without that nothing but suppositions goes on.
    """
    plain = Puzzle(6, standard_houses(6), tuple(Cage(cells(text), total) for text, total in CAGES.items()))
    named = [Named(cells(text), total) for text, total in DIAGONALS.items()]
    puzzle = with_facts(plain, [fact for one in named for fact in RULES["diagonal_sum"].read(6, one).facts()])
    assert cpsat.verdict(plain, tuple(("diagonal_sum", one) for one in named)).outcome is Outcome.SOUND
    plainly = {name: technique for name, technique in TECHNIQUES.items() if not technique.last_resort}
    path = explain(puzzle, techniques=plainly)
    assert path.reach is Reach.WHOLE
    assert Prover(puzzle).first_unproved(stage.step for stage in path.stages) is None
    (step,) = [stage.step for stage in path.stages if {Sum} & set(map(type, stage.step.cites.reckoned))]
    assert step.why["now"] == Sum(cells("r5c3 r6c1"), cells("r4c1"), (5,))
    monkeypatch.setattr(frame, "taken_together", lambda cells, sums: [])
    assert explain(puzzle, techniques=plainly).outcome is PathOutcome.STUCK
