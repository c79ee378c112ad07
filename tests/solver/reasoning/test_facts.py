"""Facts of the trade (common practice, no single source), as the techniques find them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.filling import fits
from cagework.solver.reasoning.state import State

ANY = (1 << 9) - 1


def sets(total: int, count: int) -> set[str]:
    return {"".join(str(d) for d in range(1, 10) if left >> d - 1 & 1) for left in fits((ANY,) * count, total)[1]}


@pytest.mark.parametrize(("total", "count", "digits"), [
    (17, 2, {"89"}), (24, 3, {"789"}), (30, 4, {"6789"}), (22, 6, {"123457"}), (12, 4, {"1236", "1245"}),
    (10, 2, {"19", "28", "37", "46"}),
])
def test_combinations_every_solver_knows(total: int, count: int, digits: set[str]) -> None:
    assert sets(total, count) == digits


def gone(state: State, steps: list[Any], cell: str) -> set[int]:
    found = 0
    for step in steps:
        for name, mask in step.removes:
            if str(name) == cell:
                found |= mask
    return {digit for digit in range(1, state.frame.size + 1) if found >> digit - 1 & 1}


def test_an_eight_cell_cage_lacks_45_less_its_total(position: Callable[..., Any]) -> None:
    here = position(["40: r1c1-r1c8"])
    (step,) = here.found("fixed_combination")
    assert (step.key, list(step.why["absent"])) == ("lacks", [5])
    assert all(mask == 1 << 4 for _, mask in step.removes)
    assert len(step.removes) == 8


def test_twelve_in_four_needs_1_and_2(position: Callable[..., Any]) -> None:
    here = position(["12: r1c1-r1c4"])
    steps = here.found("needed_digit")
    assert gone(here.state, steps, "r1c9") == {1, 2}


def test_five_distinct_digits_reach_at_most_35(position: Callable[..., Any]) -> None:
    """So where five cells are all that is left of 45 less 10, none of them is under 5."""
    here = position(["10: r1c1-r1c4"])
    steps = here.found("bounds_on_many")
    assert gone(here.state, steps, "r1c9") == {1, 2, 3, 4}
    # A cage of six whose other five cells are capped at 35 cannot do without a large digit.
    large = position(["39: r1c1-r1c6"]).found("cage_bounds")
    assert all(step.why["most"] == 35 for step in large)
    assert len(large) == 6


def test_four_cells_that_add_to_12_hold_no_7(position: Callable[..., Any]) -> None:
    here = position(["33: r1c1-r1c5"])
    (step,) = here.found("innies")
    assert step.why["sum"] == 12
    assert gone(here.state, [step], "r1c9") == {7, 8, 9}


def test_a_cell_is_what_the_rest_of_its_box_lacks(position: Callable[..., Any]) -> None:
    """The rest of the box adds to 38: 45 - 38 is 7."""
    here = position(["20: r1c1-r1c3 r2c1", "18: r2c2 r2c3 r3c1 r3c2"])
    (step,) = here.found("innie")
    assert [(str(cell), digit) for cell, digit in step.places] == [("r3c3", 7)]


@pytest.mark.parametrize(("size", "total"), [(4, 10), (6, 21), (8, 36), (12, 78), (16, 136)])
def test_a_house_of_n_adds_to_half_n_times_n_plus_1(
    size: int, total: int, position: Callable[..., Any]
) -> None:
    """Sum of 1..n; a last cell of 1 is left where a cage takes the rest."""
    here = position([f"{total - 1}: r1c1-r1c{size - 1}"], size=size)
    (step,) = here.found("innie")
    assert [(str(cell), digit) for cell, digit in step.places] == [(f"r1c{size}", 1)]
    assert Prover(here.puzzle).prove(here.state.candidates, step)


def test_outies_may_repeat_a_digit(position: Callable[..., Any]) -> None:
    """Two outies that see nothing of each other and add to 4 may both be 2."""
    here = position(["20: r5c3-r5c6", "12: r4c1 r5c1 r5c2", "17: r6c9 r5c7-r5c9"])
    steps = here.found("outies")
    assert gone(here.state, steps, "r4c1") == {4, 5, 6, 7, 8, 9}


def test_outies_of_one_cage_may_not(position: Callable[..., Any]) -> None:
    here = position(["23: r5c1-r5c4", "26: r5c5-r5c9 r6c9 r4c9"])
    steps = here.found("outies")
    assert [step.why["sum"] for step in steps if str(step.why["houses"].name) == "row 5"] == [4]
    assert 2 in gone(here.state, steps, "r4c9")


def test_two_boxes_lock_a_digit_for_the_third(position: Callable[..., Any]) -> None:
    """5s of two boxes in two rows of a band leave the third row for the third box's 5."""
    spare = ["r3c1-r3c3 = 5", "r3c4-r3c6 = 5"]
    here = position(lack=spare)
    while steps := [*here.found("locked"), *here.found("x_wing")]:
        for cell, mask in steps[0].removes:
            here.state.eliminate(here.state.frame.index[cell], mask)
    assert {str(here.state.frame.cells[c]) for c in range(81)
            if here.state.candidates[c] >> 4 & 1 and c % 9 > 5 and c < 27} == {"r3c7", "r3c8", "r3c9"}


def test_where_can_the_7_go(position: Callable[..., Any]) -> None:
    here = position(place=["r1c1 = 7", "r2c4 = 7", "r5c8 = 7", "r8c9 = 7"])
    assert {(str(s.places[0][0]), s.places[0][1]) for s in here.found("hidden_single")} == {("r3c7", 7)}
