"""Sums that rules state, added up and taken away as cages are."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cagework.solver.model import Cell, Sum
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.state import Balance, State


def cells(text: str) -> tuple[Cell, ...]:
    return tuple(map(Cell.parse, text.split()))


CORNER = Sum(cells("r1c3 r2c2 r3c1"), (), (8,))
LINE = Sum(cells("r1c1 r1c2"), cells("r2c1"), (0,))


@pytest.mark.parametrize(("technique", "at", "now"), [
    # Box 1: 45 less 8 and 31.
    ("innie", {"cages": ["31: r1c1 r1c2 r2c1 r2c3 r3c2"], "sums": (CORNER,)}, Sum(cells("r3c3"), (), (6,))),
    # The diagonal sticks out by one cell.
    ("outie", {"cages": ["31: r1c1 r1c2 r1c3 r2c1 r2c2"],
               "sums": (Sum(cells("r2c3 r3c2"), (), (8,)), Sum(cells("r3c1 r3c3 r4c4"), (), (9,)))},
     Sum((), cells("r4c4"), (-3,))),
    # Row 1: r2c1 counts for r1c1 and r1c2, and a cage takes the rest but r1c9.
    ("innies", {"cages": ["32: r1c3-r1c8"], "sums": (LINE,)}, Sum(cells("r2c1 r1c9"), (), (13,))),
    # And where it is what is taken off that lies inside.
    ("innies", {"cages": ["32: r1c3-r1c8"], "sums": (Sum(cells("r2c1"), cells("r1c1 r1c2"), (2,)),)},
     Sum(cells("r2c1 r1c9"), (), (15,))),
])
def test_they_count_as_cages_do(
    technique: str, at: dict[str, Any], now: Sum, position: Callable[..., Any], step_oracle: Any,
) -> None:
    here = position(**at)
    steps = [step for step in here.found(technique) if {Sum} & set(map(type, step.cites.reckoned))]
    told = [step.why["now"] for step in steps]
    assert [(set(one.plus), set(one.minus), one.totals) for one in told] == [
        (set(now.plus), set(now.minus), now.totals)]
    for step in steps:
        assert Prover(here.puzzle).prove(here.state.candidates, step)
        assert step_oracle.follows(9, step)


@pytest.mark.parametrize("stated", [
    Sum(cells("r1c1 r1c2"), cells("r1c3"), (0,)),       # all inside: r1c3 would count twice
    Sum(cells("r1c1"), cells("r2c5 r2c6"), (0,)),       # only one inside
    Sum(cells("r1c1 r1c2"), (), (3, 4)),                # no one total
])
def test_others_are_not_taken(stated: Sum, position: Callable[..., Any]) -> None:
    here = position(["32: r1c4-r1c8"], sums=(stated,))
    assert not any(area.stated for area in here.state.frame.areas if area.added == (0,))


def test_cells_of_one_sum_may_be_alike(position: Callable[..., Any], step_oracle: Any) -> None:
    """Of outies 4 in one diagonal both may be 2: only houses and cages tell cells apart."""
    here = position(["35: r1c1-r1c3 r2c1-r2c3"], sums=(Sum(cells("r3c1 r3c2 r3c3 r5c5 r7c7"), (), (14,)),))
    (step,) = [step for step in here.found("outies") if step.cites.sums]
    assert step.why["now"] == Sum((), cells("r5c5 r7c7"), (-4,))
    assert {str(cell): mask for cell, mask in step.removes} == {"r5c5": 0b111111000, "r7c7": 0b111111000}
    assert Prover(here.puzzle).prove(here.state.candidates, step)
    assert step_oracle.follows(9, step)


def test_a_total_misread_is_refused(position: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    honest = State.balance

    def careless(self: State, number: int) -> Balance:
        found = honest(self, number)
        return Balance(found.area, found.plus, found.minus, found.total - found.stated, found.fixed, found.taken,
                       found.stated)

    here = position(["31: r1c1 r1c2 r2c1 r2c3 r3c2"], sums=(CORNER,))
    monkeypatch.setattr(State, "balance", careless)
    (step,) = here.found("innie")
    assert not Prover(here.puzzle).prove(here.state.candidates, step)
