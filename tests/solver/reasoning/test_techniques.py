"""Every technique on a position made for it: what it finds, that it is proved, and that more would not be."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations, product
from typing import Any

import pytest

from cagework.solver.model import Between, Cell, Pair, Sum
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Digits, Rest, Step

DOMINOES = [f"10: r1c{c} r2c{c}" for c in range(1, 8)]


@dataclass(frozen=True)
class Case:
    """A position, and a step that must be among those found: digits placed or removed, by cell."""

    places: Mapping[str, int] = field(default_factory=dict)
    removes: Mapping[str, str] = field(default_factory=dict)
    keeps: Mapping[str, str] = field(default_factory=dict)
    at: Mapping[str, Any] = field(default_factory=dict)


CASES: dict[str, Case] = {
    "last_in_house": Case({"r1c9": 9}, at={"place": [f"r1c{c} = {c}" for c in range(1, 9)]}),
    "last_in_cage": Case({"r2c2": 6}, at={"cages": ["17: r1c1 r1c2 r2c2"], "place": ["r1c1 = 8", "r1c2 = 3"]}),
    "hidden_single": Case({"r1c9": 7}, at={"lack": ["r1c1-r1c8 = 7"]}),
    "naked_single": Case({"r5c5": 4}, at={"hold": ["r5c5 = 4"]}),
    "fixed_combination": Case(removes={"r1c1": "1234567", "r1c2": "1234567"}, at={"cages": ["17: r1c1 r1c2"]}),
    "impossible_digit": Case(removes={"r1c1": "5", "r1c2": "5"}, at={"cages": ["10: r1c1 r1c2"]}),
    "related_pair": Case(removes={"r1c2": "1"}, at={
        "pairs": (Pair.of(Cell(1, 1), Cell(1, 2), range(1, 10), lambda x, y: x < y),)}),
    "rule_sum": Case(removes={"r1c1": "12", "r1c5": "9", "r1c9": "9"}, keeps={"r1c1": "3"}, at={
        "sums": (Sum((Cell(1, 5), Cell(1, 9)), (Cell(1, 1),), (0,)),)}),
    # Three cells of a row need three digits, which 6 and 9 at the ends do not leave.
    "between": Case(removes={"r1c1": "6", "r3c5": "67"}, keeps={"r1c1": "5", "r3c5": "8"}, at={
        "betweens": (Between((Cell(1, 1), Cell(3, 5)), (Cell(2, 2), Cell(2, 3), Cell(2, 4))),),
        "hold": ["r1c1 = 456", "r3c5 = 6789", "r2c2-r2c4 = 5678"]}),
    "innie": Case({"r1c9": 8}, at={"cages": ["20: r1c1-r1c4", "17: r1c5-r1c8"]}),
    "outie": Case({"r2c9": 4}, at={"cages": ["20: r1c1-r1c4", "12: r1c5-r1c7", "17: r1c8 r1c9 r2c9"]}),
    "wide_innie": Case({"r1c9": 6}, at={"cages": [*DOMINOES, "9: r1c8 r2c8"], "place": ["r2c9 = 5"]}),
    "wide_outie": Case({"r3c9": 4}, at={"cages": [*DOMINOES, "9: r1c8 r2c8", "15: r1c9 r2c9 r3c9"]}),
    # Two runs across and two down, of four cells and a fifth, or a sixth, that no run down has.
    "area_cell": Case({"r2c3": 4}, at={"white": ["..#", "..."], "cages": [
        "10: r1c1-r1c2", "15: r2c1-r2c3", "11: r1c1-r2c1", "10: r1c2-r2c2"]}),
    "area_cells": Case(removes={"r2c3": "1234567", "r2c4": "1234567"}, at={"white": ["..##", "...."], "cages": [
        "10: r1c1-r1c2", "28: r2c1-r2c4", "11: r1c1-r2c1", "10: r1c2-r2c2"]}),
    "innies": Case(removes={"r1c8": "56789", "r1c9": "56789"}, at={"cages": ["20: r1c1-r1c4", "20: r1c5-r1c7"]}),
    "outies": Case(removes={"r4c1": "456789", "r6c9": "456789"}, keeps={"r4c1": "2"}, at={"cages": [
        "20: r5c3-r5c6", "12: r4c1 r5c1 r5c2", "17: r6c9 r5c7-r5c9"]}),
    "innies_less_outies": Case(removes={"r1c7": "3456789", "r2c9": "1234567"}, at={"cages": [
        "20: r1c1-r1c4", "11: r1c5 r1c6", "21: r1c8 r1c9 r2c9"]}),
    "wide_innies": Case(removes={"r1c9": "3456789", "r2c9": "3456789"}, at={
        "cages": [*DOMINOES, "17: r1c8 r2c8"]}),
    "wide_outies": Case(removes={"r3c8": "3456789", "r3c9": "3456789"}, at={"cages": [
        *DOMINOES[:6], "12: r1c7 r2c7 r2c8", "21: r1c8 r1c9 r2c9 r3c9 r3c8"]}),
    "wide_innies_less_outies": Case(removes={"r2c8": "3456789", "r3c9": "1234567"}, at={"cages": [
        *DOMINOES, "27: r1c8 r1c9 r2c9 r3c9"]}),
    "needed_digit": Case(removes={"r1c9": "89", "r1c4": "89"}, at={"cages": ["17: r1c1 r1c2"]}),
    "equal_cells": Case(removes={"r7c5": "5"}, keeps={"r7c5": "46"}, at={
        "cages": ["20: r1c1-r1c4", "14: r1c5 r1c6 r2c5", "11: r1c7 r1c8"],
        "lack": ["r2c9-r6c9 = 5", "r8c9-r9c9 = 5"]}),
    "shared_sums": Case(removes={"r1c9": "123", "r3c3": "789"}, keeps={"r1c9": "456789", "r3c3": "123456"}, at={
        "cages": ["25: r1c4-r1c8", "28: r2c1-r2c3 r3c1 r3c2"]}),
    "compared_cage": Case(removes={"r4c8": "456789", "r4c9": "456789"}, keeps={"r4c8": "123"}, at={
        "cages": ["20: r1c1-r1c4", "20: r1c5-r1c7"], "sums": (
            Sum((Cell(1, 8), Cell(1, 9)), (Cell(4, 8), Cell(4, 9)), tuple(range(1, 17))),)}),
    "cage_bounds": Case(removes={"r1c3": "1234567"}, at={
        "cages": ["15: r1c1-r1c3"], "hold": ["r1c1-r1c2 = 1234"]}),
    "no_fit": Case(removes={"r1c1": "2"}, at={
        "cages": ["10: r1c1 r1c2"], "lack": ["r1c1-r1c2 = 5", "r1c2 = 8"]}),
    "needed_in_sum": Case(removes={"r2c7": "89", "r3c9": "89"}, at={"cages": ["10: r1c1-r1c4", "18: r1c5-r1c7"]}),
    "bounds_on_many": Case(removes={"r1c5": "1234"}, at={"cages": ["10: r1c1-r1c4"]}),
    "naked_pair": Case(removes={"r1c2": "12", "r1c9": "12"}, at={"hold": ["r1c1 = 12", "r1c5 = 12"]}),
    "naked_triple": Case(removes={"r1c2": "123"}, at={"hold": ["r1c1 = 12", "r1c5 = 23", "r1c9 = 13"]}),
    "naked_quad": Case(removes={"r1c2": "1234"}, at={
        "hold": ["r1c1 = 12", "r1c3 = 23", "r1c5 = 34", "r1c9 = 14"]}),
    "hidden_pair": Case(removes={"r1c1": "3456789", "r1c9": "3456789"}, at={"lack": ["r1c2-r1c8 = 12"]}),
    "hidden_triple": Case(removes={"r1c5": "456789"}, at={"lack": ["r1c2-r1c4 = 123", "r1c6-r1c8 = 123"]}),
    "hidden_quad": Case(removes={"r1c4": "56789"}, at={
        "lack": ["r1c2-r1c3 = 1234", "r1c5 = 1234", "r1c7-r1c8 = 1234"]}),
    "locked": Case(removes={"r2c1": "5", "r3c3": "5"}, keeps={"r1c1": "5"}, at={"lack": ["r1c4-r1c9 = 5"]}),
    "seen_by_all": Case(removes={"r9c1": "5"}, at={"lack": ["r1c2-r1c8 = 5"], "rules": ("diagonals",)}),
    "x_wing": Case(removes={"r3c2": "5", "r9c8": "5"}, at={
        "lack": [f"r{r}c{c} = 5" for r in (1, 5) for c in (1, 3, 4, 5, 6, 7, 9)]}),
    "swordfish": Case(removes={"r3c2": "5", "r4c5": "5", "r7c8": "5"}, at={"lack": [
        *(f"r1c{c} = 5" for c in (1, 3, 4, 6, 7, 8, 9)), *(f"r5c{c} = 5" for c in (1, 2, 3, 4, 6, 7, 9)),
        *(f"r9c{c} = 5" for c in (1, 3, 4, 5, 6, 7, 9))]}),
    "linked_pairs": Case(removes={"r2c9": "5", "r4c8": "5"}, at={"lack": [
        *(f"r1c{c} = 5" for c in (1, 3, 4, 5, 6, 7, 9)), *(f"r5c{c} = 5" for c in (1, 3, 4, 5, 6, 7, 8))]}),
    "short_chain": Case(removes={"r5c5": "3"}, at={"hold": ["r1c1 = 12", "r1c5 = 23", "r5c1 = 13"]}),
    "cages_in_house": Case(removes={"r1c1": "14", "r1c2": "14"}, at={
        "cages": ["5: r1c1 r1c2", "6: r1c4 r1c5"], "hold": ["r1c1-r1c2 = 1234", "r1c4-r1c5 = 1245"]}),
    "way_by_way": Case(removes={"r1c1": "14", "r1c2": "14"}, keeps={"r1c1": "23", "r1c2": "23"}, at={
        "cages": ["5: r1c1 r1c2"], "hold": ["r1c1-r1c2 = 1234", "r1c9 = 14"]}),
    "reserved_digit": Case(removes={"r1c1": "36", "r1c2": "36", "r2c1": "36"},
                           keeps={"r1c1": "127", "r2c1": "12"}, at={
        "cages": ["10: r1c1 r1c2 r2c1"], "lack": ["r1c3-r1c9 = 7"]}),
    "digit_by_ways": Case(removes={"r1c1": "1"}, keeps={"r1c1": "234"}, at={
        "cages": ["5: r1c1 r1c2", "6: r2c1 r2c2"], "hold": ["r1c1-r1c2 = 1234", "r2c1 = 15", "r2c2 = 15"],
        "lack": ["r1c1 = 4"]}),
    "either_way": Case(removes={"r5c5": "3"}, at={"hold": ["r1c1 = 12", "r1c5 = 23", "r5c1 = 13"]}),
    "trial": Case({"r1c1": 2}, at={"hold": ["r1c1 = 12", "r1c2 = 13", "r2c1 = 13"]}),
    "what_if": Case(removes={"r1c1": "1"}, at={"hold": ["r1c1 = 12", "r1c2 = 13", "r2c1 = 13"]}),
}

MORE = (
    # A chain that ends in the cell it began in, at another digit: no third one is left there.
    ("short_chain", Case(removes={"r1c1": "2456789", "r1c5": "2456789"}, keeps={"r1c1": "13", "r1c5": "13"}, at={
        "lack": ["r1c2-r1c4 = 13", "r1c6-r1c9 = 13"]})),
    # r1c7 is filled, with it the cage makes 21; the others, of which none is 8, make 22 at the least.
    ("compared_cage", Case(removes={"r2c7": "12345", "r2c8": "12345"}, keeps={"r2c7": "679"}, at={
        "cages": ["10: r1c1-r1c4", "14: r1c5 r1c6"], "place": ["r1c7 = 8"], "sums": (
            Sum((Cell(2, 7), Cell(2, 8), Cell(2, 9)), (Cell(1, 7), Cell(1, 8), Cell(1, 9)),
                tuple(range(1, 25))),)})),
    # Two equal cells that between them see every place of a digit in row 9.
    ("equal_cells", Case(removes={"r1c9": "5", "r2c5": "5"}, keeps={"r1c9": "46", "r2c5": "46"}, at={
        "cages": ["20: r1c1-r1c4", "14: r1c5 r1c6 r2c5", "11: r1c7 r1c8"],
        "lack": ["r9c1-r9c4 = 5", "r9c6-r9c8 = 5"]})),
    # Two that a cage makes equal: r1c8 and r1c9 make 11, r1c9 and r4c9 too.
    ("equal_cells", Case(removes={"r4c9": "6"}, keeps={"r4c9": "345"}, at={
        "cages": ["20: r1c1-r1c4", "14: r1c5-r1c7", "11: r1c9 r4c9"], "lack": ["r1c8 = 6"]})),
    # Two that sums make equal: with r1c1-r1c3, r1c9 makes 20, and so does r3c3; with r1c1 alone 10.
    ("equal_cells", Case(removes={"r1c9": "5"}, keeps={"r1c9": "46"}, at={
        "cages": ["25: r1c4-r1c8", "25: r2c1-r2c3 r3c1 r3c2"], "lack": ["r3c3 = 5"]})),
    ("equal_cells", Case(removes={"r1c9": "3"}, keeps={"r1c9": "46"}, at={
        "cages": ["18: r1c2-r1c4", "17: r1c5-r1c8", "18: r2c1-r4c1", "17: r5c1-r8c1"], "lack": ["r9c1 = 3"]})),
    # One of them of outies: r1c1 makes 10 with r1c5, left over in row 1, and with r3c9, which sticks out of row 2.
    ("equal_cells", Case(removes={"r1c5": "3"}, keeps={"r1c5": "46"}, at={
        "cages": ["18: r1c2-r1c4", "17: r1c6-r1c9", "30: r1c1 r2c1-r2c5", "25: r2c6-r2c9 r3c9"],
        "lack": ["r3c9 = 3"]})),
    # Two of which one lies within the other, and two digits more: r1c1 and r1c2 make 7, with r1c8 and r1c9 24.
    ("shared_sums", Case(removes={"r1c8": "1234567", "r1c9": "1234567"}, keeps={"r1c8": "89"}, at={
        "cages": ["5: r1c3", "16: r1c4-r1c7", "33: r2c1-r2c3 r3c1-r3c3"]})),
    # The 5 of row 1 has two places, each in a cage that then puts 3 in row 5.
    ("either_way", Case(removes={"r5c5": "3"}, at={
        "cages": ["8: r1c1 r5c1", "8: r1c9 r5c9"], "lack": ["r1c2-r1c8 = 5"]})),
    # A cage is 1+6 or 2+5: 9 is in r1c9, or in r2c2.
    ("either_way", Case(removes={"r1c3": "9"}, at={
        "cages": ["7: r1c1 r1c2"], "hold": ["r1c1-r1c2 = 1256", "r1c9 = 169", "r2c2 = 259"]})),
    # A run of three cells along which digits rise, one tie of it written downwards; and a cell and its double.
    ("related_pair", Case(removes={"r1c1": "89", "r2c5": "19", "r5c7": "12"},
                          keeps={"r1c1": "7", "r2c5": "28", "r5c7": "3"}, at={"pairs": (
        Pair.of(Cell(1, 1), Cell(2, 5), range(1, 10), lambda x, y: x < y),
        Pair.of(Cell(5, 7), Cell(2, 5), range(1, 10), lambda x, y: x > y))})),
    ("related_pair", Case(removes={"r1c2": "579"}, keeps={"r1c2": "123468"}, at={"pairs": (
        Pair.of(Cell(1, 1), Cell(1, 2), range(1, 10), lambda x, y: x == 2 * y or y == 2 * x),)})),
    # A sum of which one cell is open, one whose cells may hold the same digit, and two sides of which one is more.
    ("rule_sum", Case({"r5c5": 4}, at={
        "sums": (Sum((Cell(1, 1), Cell(5, 5)), (Cell(2, 5),), (0,)),), "place": ["r1c1 = 3", "r2c5 = 7"]})),
    ("rule_sum", Case(removes={"r1c1": "1", "r2c5": "1"}, keeps={"r1c1": "2"}, at={
        "sums": (Sum((Cell(1, 1), Cell(2, 5)), (), (4, 16)),), "hold": ["r1c1 = 12", "r2c5 = 1289"]})),
    ("rule_sum", Case(removes={"r1c1": "123", "r4c4": "89"}, keeps={"r1c1": "4", "r4c4": "7"}, at={
        "sums": (Sum((Cell(1, 1),), (Cell(4, 4), Cell(4, 5)), tuple(range(1, 8))),)})),
    # The same of two cages of which one has its sum: r1c1 and r1c2 make more than 13, or less than 5.
    ("rule_sum", Case(removes={"r1c1": "1234", "r1c2": "1234"}, keeps={"r1c1": "5", "r4c4": "4"}, at={
        "cages": ["13: r4c4 r4c5"],
        "sums": (Sum((Cell(1, 1), Cell(1, 2)), (Cell(4, 4), Cell(4, 5)), tuple(range(1, 17))),)})),
    ("rule_sum", Case(removes={"r1c1": "456789", "r1c2": "456789"}, keeps={"r1c1": "3", "r4c4": "1"}, at={
        "cages": ["5: r4c4 r4c5"],
        "sums": (Sum((Cell(4, 4), Cell(4, 5)), (Cell(1, 1), Cell(1, 2)), tuple(range(1, 17))),)})),
    ("rule_sum", Case(removes={"r1c1": "12", "r4c4": "89"}, keeps={"r1c1": "3", "r4c4": "7"}, at={
        "sums": (Sum((Cell(1, 1),), (Cell(4, 4),), (2, 5)),)})),
    # No cell between holds 1 or 9; where one end is 4, what lies between is less, or more, as the other end is.
    ("between", Case(removes={"r1c2": "19", "r5c2": "19"}, keeps={"r1c1": "5", "r5c2": "2"}, at={
        "betweens": (Between((Cell(1, 1), Cell(5, 5)), (Cell(1, 2), Cell(5, 2))),)})),
    ("between", Case(removes={"r1c1": "35", "r2c1": "1"}, keeps={"r1c1": "2", "r2c1": "5"}, at={
        "betweens": (Between((Cell(1, 1), Cell(3, 3)), (Cell(2, 1),)),), "place": ["r3c3 = 4"],
        "hold": ["r2c1 = 12356"]})),
    # One whose ends see each other, with two digits: neither cell holds the other's.
    ("short_chain", Case(removes={"r1c4": "2", "r3c5": "1"}, keeps={"r1c4": "1", "r3c5": "2"}, at={
        "lack": ["r1c1-r1c3 = 1", "r1c6-r1c9 = 1", "r2c5 = 2", "r4c5-r9c5 = 2"]})),
)
"""Positions besides the first of a technique, for what that does not show."""
BY_NAME = [*CASES.items(), *MORE]


def masked(digits: str) -> int:
    return sum(1 << int(digit) - 1 for digit in digits)


def wanted(case: Case, step: Step) -> bool:
    placed = {str(cell): digit for cell, digit in step.places}
    removed = {str(cell): mask for cell, mask in step.removes}
    return (
        case.places.items() <= placed.items()
        and all(masked(digits) & ~removed.get(cell, 0) == 0 for cell, digits in case.removes.items())
        and not any(masked(digits) & removed.get(cell, 0) for cell, digits in case.keeps.items())
    )


def test_every_technique_has_its_position() -> None:
    assert CASES.keys() == TECHNIQUES.keys()


@pytest.mark.parametrize(("name", "case"), BY_NAME)
def test_it_finds_what_there_is(name: str, case: Case, position: Callable[..., Any]) -> None:
    here = position(**case.at)
    steps = here.found(name)
    # A step a cell: what several of them remove is taken together.
    merged: dict[str, int] = {}
    for step in steps:
        for cell, mask in step.removes:
            merged[str(cell)] = merged.get(str(cell), 0) | mask
    assert any(wanted(case, step) for step in steps) or (
        not case.places and all(masked(d) & ~merged.get(cell, 0) == 0 for cell, d in case.removes.items())), steps
    assert not any(masked(d) & merged.get(cell, 0) for cell, d in case.keeps.items())


@pytest.mark.parametrize(("name", "case"), BY_NAME)
def test_the_proof_accepts_it_and_nothing_more(
    name: str, case: Case, position: Callable[..., Any], step_oracle: Any,
) -> None:
    here = position(**case.at)
    prover = Prover(here.puzzle)
    candidates = here.state.candidates
    for step in here.found(name):
        assert prover.prove(candidates, step), step
        assert step_oracle.follows(here.puzzle.size, step), step
        for wrong in stretched(step, here.puzzle.size):
            if not step_oracle.follows(here.puzzle.size, wrong):
                assert not prover.prove(candidates, wrong), wrong


@pytest.mark.parametrize("name", sorted(CASES.keys() - {"naked_single", "related_pair", "trial", "what_if"}))
def test_the_proof_misses_each_house_and_cage_left_out(
    name: str, position: Callable[..., Any], step_oracle: Any
) -> None:
    here = position(**CASES[name].at)
    prover = Prover(here.puzzle)
    refused = 0
    for step in here.found(name):
        cites = step.cites
        for fact in (*cites.houses, *cites.cages):
            fewer = replace(
                cites, houses=tuple(h for h in cites.houses if h != fact), added=tuple(
                    h for h in cites.added if h != fact), cages=tuple(c for c in cites.cages if c != fact),
                taken=tuple(c for c in cites.taken if c != fact),
                added_too=tuple(h for h in cites.added_too if h != fact),
                taken_too=tuple(c for c in cites.taken_too if c != fact))
            if not step_oracle.follows(here.puzzle.size, step, fewer):
                refused += 1
                assert not prover.prove(here.state.candidates, replace(step, cites=fewer)), (step, fact)
    assert refused


def stretched(step: Step, size: int) -> list[Step]:
    """The step with one more claim than it may make, in each cell it names."""
    more = []
    full = (1 << size) - 1
    for cell, digit in step.places:
        more.append(replace(step, places=((cell, digit % size + 1),)))
    for cell, mask in step.removes:
        for value in range(size):
            if full & ~mask >> value & 1:
                rest = tuple(item for item in step.removes if item[0] != cell)
                more.append(replace(step, removes=(*rest, (cell, mask | 1 << value))))
    return more


@pytest.mark.parametrize(("total", "key", "gone"), [
    (15, "same", "56789"), (14, "differ", "6789"), (16, "differ", "456789"),
])
def test_sums_are_said_to_be_the_same_where_they_are(
    total: int, key: str, gone: str, position: Callable[..., Any],
) -> None:
    """Row 1 adds to 45, so three innies make what two outies make, or one more, or one less. The outies make 7 at
    the most, and two of the innies 3 at the least.
    """
    here = position([f"{total}: r1c1 r1c2", "30: r1c6-r1c9 r2c8 r2c9"], hold=["r2c8-r2c9 = 1234"])
    steps = [step for step in here.found("bounds_on_many") if step.why["outies"]]
    assert {(step.key.partition("+")[0], step.why["sum"]) for step in steps} == {(key, abs(15 - total))}
    (step,) = [step for step in steps if str(step.why["cell"]) == "r1c3"]
    assert [step.why[name] for name in ("apart", "away", "bound")] == [3, 7, 7 + 15 - total - 3]
    assert {str(cell): mask for step in steps for cell, mask in step.removes}["r1c3"] == masked(gone)


@pytest.mark.parametrize("name", CASES)
def test_the_sentence_can_be_said(
    name: str, position: Callable[..., Any], unfilled: Callable[[str, Step], set[str]],
) -> None:
    for step in position(**CASES[name].at).found(name):
        for part in (step, *step.parts):
            technique = TECHNIQUES[part.technique]
            for text in (*technique.templates(part.key), technique.clauses.get(part.key, "")):
                assert not unfilled(text, part)


@pytest.mark.parametrize(("over", "key"), [(59, "differ+ends"), (58, "differ")])
def test_a_difference_that_only_the_ends_make_names_both_pairs(
    over: int, key: str, position: Callable[..., Any],
) -> None:
    """Cages over column 9 that leave out two of its cells and stick out by two of column 8: where they make 14
    more than column 9, the two make 14 more than those, which of all digits only 8 + 9 and 1 + 2 do.
    """
    here = position([f"{total}: {cells}" for total, cells in (
        (over - 40, "r1c9 r2c9 r2c8"), (20, "r3c9 r4c9 r5c9"), (20, "r6c9 r7c9 r6c8"))])
    pairs = [pair for pair in product(combinations(range(1, 10), 2), repeat=2)
             if sum(pair[0]) - sum(pair[1]) == over - 45]
    (told,) = [step for step in here.found("innies_less_outies") if step.cites.houses[0].name == "column 9"]
    assert told.key == key
    if len(pairs) == 1:
        assert pairs == [(tuple(told.why["digits"]), tuple(told.why["others"]))]
        assert [str(cell) for cell in told.why["greater"]] == ["r2c8", "r6c8"]


@pytest.mark.parametrize(("name", "cages", "lack", "cell", "gone"), [
    ("shared_sums", ["25: r1c4-r1c8", "28: r2c1-r2c3 r3c1 r3c2"], [], "r1c9", "123"),
    ("shared_sums", ["25: r1c4-r1c8", "28: r2c1-r2c3 r3c1 r3c2"], [], "r3c3", "789"),
    ("equal_cells", ["25: r1c4-r1c8", "25: r2c1-r2c3 r3c1 r3c2"], ["r3c3 = 5"], "r1c9", "5"),
])
def test_two_sums_together_strike_what_nothing_else_does(
    name: str, cages: list[str], lack: list[str], cell: str, gone: str, position: Callable[..., Any],
) -> None:
    """Four cells of row 1 and four of box 1 share three. No other technique but those of the last resort takes
    these digits from that cell.
    """
    here = position(cages, lack=lack)
    taking = {
        technique for technique in TECHNIQUES if not TECHNIQUES[technique].last_resort
        for step in here.found(technique) for where, mask in step.removes
        if str(where) == cell and mask & masked(gone)}
    assert taking == {name}
    both = [step.cites for step in here.found(name)]
    assert {(cites.added[0].name, cites.added_too[0].name) for cites in both} == {
        ("row 1", "box 1"), ("box 1", "row 1")}


@pytest.mark.parametrize(("total", "equal"), [(14, True), (15, False)])
def test_only_sums_that_make_as_much_make_cells_equal(
    total: int, equal: bool, position: Callable[..., Any],
) -> None:
    """r1c1 and r1c5, left over in row 1, make 10; r1c5 and r2c9, left over in rows 1 and 2, make 10 too, or 9."""
    here = position(["18: r1c2-r1c4", "17: r1c6-r1c9", "31: r1c1 r2c1-r2c5", f"{total}: r2c6-r2c8"],
                    lack=["r2c9 = 3"])
    struck = {(str(cell), mask) for step in here.found("equal_cells") for cell, mask in step.removes}
    assert struck == ({("r1c1", masked("3"))} if equal else set())
    assert here.found("shared_sums") == []


def test_a_cage_with_one_digit_twice_is_told_by_what_is_cited(position: Callable[..., Any]) -> None:
    """As they may in a supposition that is about to fail: by these notes the rest of 10 would have two ways."""
    here = position(["10: r1c1-r1c4"])
    (step,) = here.found("fixed_combination")
    masks = [masked("1") if str(cell) in ("r1c1", "r1c2") else mask
             for cell, mask in zip(here.state.frame.cells, here.state.candidates, strict=True)]
    assert TECHNIQUES[step.technique].retell(here.state.frame, step, masks).why["digits"] == Digits(masked("1234"))


@pytest.mark.parametrize(("technique", "at", "filled", "ways"), [
    # By these notes what is left of 18 would be 4+8, of 10 1+2, of 5 the 3: none has the digit that it needs.
    ("needed_digit", {"cages": ["18: r6c8 r6c9 r7c9"], "hold": ["r6c8 = 36", "r6c9 = 489", "r7c9 = 3468"]},
     ("r6c8", "6"), ["369", "468"]),
    ("reserved_digit", {"cages": ["10: r1c1 r1c2 r2c1"], "lack": ["r1c3-r1c9 = 7"]}, ("r1c1", "7"), ["127"]),
    ("cages_in_house",
     {"cages": ["5: r1c1 r1c2", "6: r1c4 r1c5"], "hold": ["r1c1-r1c2 = 1234", "r1c4-r1c5 = 1245"]},
     ("r1c1", "2"), ["14", "23"]),
])
def test_a_cage_in_which_a_needed_digit_is_filled_is_told_by_what_is_cited(
    technique: str, at: dict[str, Any], filled: tuple[str, str], ways: list[str], position: Callable[..., Any],
) -> None:
    """What is left of it would not need the digit that its sentence says it does."""
    here = position(**at)
    tool, (step, *_) = TECHNIQUES[technique], here.found(technique)
    masks = [masked(filled[1]) if str(cell) == filled[0] else mask
             for cell, mask in zip(here.state.frame.cells, here.state.candidates, strict=True)]
    told = tool.retell(here.state.frame, step, masks)
    assert told.why["ways" if technique == "cages_in_house" else "combinations"] == tuple(
        Digits(masked(way)) for way in ways)
    assert told.why["one" if technique == "cages_in_house" else "made"] == here.puzzle.cages[0]


def test_a_digit_that_a_cage_has_is_in_no_way_to_make_the_rest(position: Callable[..., Any]) -> None:
    """Though the notes of other cells have it still: with 1 in r2c1, 14 is 7 and 2+5 or 3+4, but not 1+6."""
    here = position(["15: r1c1-r1c3 r2c1"], lack=["r1c4-r1c9 = 7"])
    (step,) = here.found("reserved_digit")
    masks = [masked("1") if str(cell) == "r2c1" else mask
             for cell, mask in zip(here.state.frame.cells, here.state.candidates, strict=True)]
    told = TECHNIQUES["reserved_digit"].retell(here.state.frame, step, masks)
    assert told.why["made"] == Rest(here.puzzle.cages[0])
    assert told.why["combinations"] == (Digits(masked("257")), Digits(masked("347")))
