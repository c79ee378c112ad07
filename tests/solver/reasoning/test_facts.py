"""Facts of the trade: sums in a row against every set of digits there is, others as the techniques find them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from itertools import combinations
from typing import Any

import pytest

from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.filling import fits

Digits = set[int]


def sets(size: int, count: int) -> dict[int, list[Digits]]:
    """Every set of so many digits of 1 to `size`, by what it adds to."""
    found: dict[int, list[Digits]] = {}
    for one in combinations(range(1, size + 1), count):
        found.setdefault(sum(one), []).append(set(one))
    return found


def within(size: int, count: int, total: int) -> Digits:
    """The digits with which so many cells reach a total, by the least and the greatest of the others."""
    digits = range(1, size + 1)
    others = {digit: [other for other in digits if other != digit] for digit in digits}
    return {digit for digit in digits
            if sum(others[digit][:count - 1]) <= total - digit <= sum(others[digit][size - count:])}


def gone(steps: Iterable[Any], cell: str) -> Digits:
    found = 0
    for step in steps:
        for name, mask in step.removes:
            if str(name) == cell:
                found |= mask
    return {digit for digit in range(1, found.bit_length() + 1) if found >> digit - 1 & 1}


@pytest.mark.parametrize("size", [4, 6, 9, 12])
def test_the_ways_to_make_every_sum(size: int) -> None:
    for count in range(1, size + 1):
        for total, ways in sets(size, count).items():
            held, made = fits(((1 << size) - 1,) * count, total)
            assert {sum(1 << digit - 1 for digit in way) for way in ways} == set(made)
            assert set(held) == {sum(1 << digit - 1 for digit in set().union(*ways))}


@pytest.mark.parametrize("size", [4, 6, 9])
def test_every_cage_in_a_row(size: int, position: Callable[..., Any]) -> None:
    """Of every number of cells and every sum, what each technique strikes in the cage and beside it."""
    every, met = set(range(1, size + 1)), Counter[str]()
    for count in range(2, size):
        for total, ways in sets(size, count).items():
            here = position([f"{total}: r1c1-r1c{count}"], size=size)
            fixed, barred = here.found("fixed_combination"), here.found("impossible_digit")
            used = set().union(*ways)
            assert bool(fixed) == (len(ways) == 1), (count, total)
            assert gone([*fixed, *barred], "r1c1") == every - used, (count, total)
            assert gone(here.found("needed_digit"), f"r1c{size}") == set.intersection(*ways), (count, total)
            assert gone(here.found("cage_bounds"), "r1c1") == every - within(size, count, total), (count, total)
            met["fixed" if fixed else "barred" if barred else "open"] += 1
    assert min(met.values()) > 0, met
    assert sum(met.values()) == sum(count * (size - count) + 1 for count in range(2, size))


@pytest.mark.parametrize("size", [4, 6, 9])
def test_what_every_cage_leaves_of_its_row(size: int, position: Callable[..., Any]) -> None:
    """All of a row adds to half n times n plus 1: one cell left over is told, some are by all their ways, more by
    the least and the greatest.
    """
    every, last = set(range(1, size + 1)), f"r1c{size}"
    for count in range(1, size - 1):
        for left, ways in sets(size, count).items():
            here = position([f"{size * (size + 1) // 2 - left}: r1c1-r1c{size - count}"], size=size)
            if count == 1:
                (step,) = here.found("innie")
                assert [(str(cell), digit) for cell, digit in step.places] == [(last, left)]
                assert Prover(here.puzzle).prove(here.state.candidates, step)
            elif count <= 4:
                assert gone(here.found("innies"), last) == every - set().union(*ways), (count, left)
            else:
                found = here.found("bounds_on_many")
                assert gone(found, last) == every - within(size, count, left), (count, left)


def test_a_cell_is_what_the_rest_of_its_box_lacks(position: Callable[..., Any]) -> None:
    """The rest of the box adds to 38: 45 - 38 is 7."""
    here = position(["20: r1c1-r1c3 r2c1", "18: r2c2 r2c3 r3c1 r3c2"])
    (step,) = here.found("innie")
    assert [(str(cell), digit) for cell, digit in step.places] == [("r3c3", 7)]


def test_outies_may_repeat_a_digit(position: Callable[..., Any]) -> None:
    """Two outies that see nothing of each other and add to 4 may both be 2."""
    here = position(["20: r5c3-r5c6", "12: r4c1 r5c1 r5c2", "17: r6c9 r5c7-r5c9"])
    steps = here.found("outies")
    assert gone(steps, "r4c1") == {4, 5, 6, 7, 8, 9}


def test_outies_of_one_cage_may_not(position: Callable[..., Any]) -> None:
    here = position(["23: r5c1-r5c4", "26: r5c5-r5c9 r6c9 r4c9"])
    steps = here.found("outies")
    assert [step.why["sum"] for step in steps if str(step.why["houses"].name) == "row 5"] == [4]
    assert 2 in gone(steps, "r4c9")


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
