"""Every house earns its place: leave it out, and a step is lost. Answers cannot show this of a single house."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from cagework.solver.model import Cage, Cell, House, HouseKind, Puzzle, standard_houses
from cagework.solver.reasoning.fish import fish
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.rules import RULES

BENT = ("r1c1-r1c3 r2c1", "r1c4 r2c2-r2c4", "r3c1-r3c3 r4c1", "r3c4 r4c2-r4c4")
"""Four regions of a 4 x 4 grid that are not its boxes."""

EXTRA = [fact for rule in ("diagonals", "windows") for fact in RULES[rule].read(9, None).facts()]


def named(house: House) -> str:
    return house.name


def lone(house: House) -> list[str]:
    """Only the last cell of the house can hold a 3."""
    return [f"{cell} = 3" for cell in house.cells[:-1]]


@pytest.mark.parametrize("house", [*standard_houses(9), *EXTRA], ids=named)
def test_a_hidden_single_is_lost_with_its_house(house: House, position: Callable[..., Any]) -> None:
    rules = ("diagonals", "windows") if house.kind is HouseKind.EXTRA else ()
    here = position(lack=lone(house), rules=rules)
    found = [step for step in here.found("hidden_single") if step.places == ((house.cells[-1], 3),)]
    assert [step.cites.houses for step in found] == [(house,)]
    without = position(lack=lone(house), rules=rules, without=[house.name])
    assert without.found("hidden_single") == []


def test_a_bent_region_is_a_house(position: Callable[..., Any]) -> None:
    cages = ["9: r1c1-r1c3"]
    here = position(cages, size=4, regions=BENT)
    places = {(step.cites.houses[0].name, step.places) for step in here.found("innie")}
    assert ("region 1", ((Cell(2, 1), 1),)) in places
    without = position(cages, size=4, regions=BENT, without=["region 1"])
    assert all(step.places != ((Cell(2, 1), 1),) for step in without.found("innie"))


@pytest.mark.parametrize(("name", "cages", "rules", "cell"), [
    ("row 4", ["20: r4c1-r4c4", "18: r4c5-r4c8"], (), "r4c9"),
    ("column 6", ["20: r1c6-r4c6", "18: r5c6-r8c6"], (), "r9c6"),
    ("box 5", ["20: r4c4-r4c6 r5c4", "18: r5c5 r5c6 r6c4 r6c5"], (), "r6c6"),
    ("window 4", ["20: r6c6-r6c8 r7c6", "18: r7c7 r7c8 r8c6 r8c7"], ("windows",), "r8c8"),
])
def test_an_innie_is_lost_with_its_house(
    name: str, cages: list[str], rules: tuple[str, ...], cell: str, position: Callable[..., Any]
) -> None:
    here = position(cages, rules=rules)
    assert [(str(s.places[0][0]), s.places[0][1], s.cites.houses[0].name) for s in here.found("innie")] == [
        (cell, 7, name)]
    assert position(cages, rules=rules, without=[name]).found("innie") == []


def test_a_diagonal_filled_but_for_one_cell(position: Callable[..., Any]) -> None:
    digits = "15926483"
    place = [f"r{i}c{i} = {digit}" for i, digit in enumerate(digits, 1)]
    here = position(place=place, rules=("diagonals",))
    assert [step.places for step in here.found("last_in_house")] == [((Cell(9, 9), 7),)]
    assert position(place=place, rules=("diagonals",), without=["falling diagonal"]).found("last_in_house") == []


def test_a_knights_move_is_a_reason_too(position: Callable[..., Any]) -> None:
    """r3c3 sees r1c2 in its box, and r1c4 by a knight's move alone."""
    lack = ["r1c1 = 5", "r1c3 = 5", "r1c5-r1c9 = 5"]
    (step,) = [step for step in position(lack=lack, rules=("knight",)).found("seen_by_all")
               if step.removes == ((Cell(3, 3), 1 << 4),)]
    assert [{pair.first, pair.second} for pair in step.cites.pairs] == [{Cell(1, 4), Cell(3, 3)}]
    assert position(lack=lack).found("seen_by_all") == []


def test_areas_are_of_houses_that_do_not_overlap() -> None:
    """Two regions touch a third, and share a cell: all three are not 30."""
    bent = [((1, 1), (1, 2), (2, 1), (2, 2)), ((1, 3), (1, 4), (2, 3), (2, 4)), ((2, 2), (3, 2), (3, 3), (3, 4))]
    regions = [House(f"region {number}", HouseKind.REGION, tuple(Cell(*at) for at in cells))
               for number, cells in enumerate(bent)]
    cages = tuple(Cage((Cell(row, 2), Cell(row, 3)), 5) for row in range(1, 5))
    frame = Frame(Puzzle(4, (*standard_houses(4, ()), *regions), cages))
    assert max(len(area.added) for area in frame.areas) == 2
    for area in frame.areas:
        cells = [cell for number in area.added for cell in frame.houses[number]]
        assert len({*cells}) == len(cells)


@pytest.mark.parametrize(("first", "found"), [(Cell(3, 1), True), (Cell(1, 1), False)])
def test_fish_are_of_houses_that_do_not_overlap(first: Cell, found: bool) -> None:
    """A 1 in columns 1 and 2 of row 1 and of another house is two digits, or one where these meet."""
    other = House("other", HouseKind.ROW, (first, Cell(3, 2), Cell(3, 3), Cell(3, 4)))
    houses = [house for house in standard_houses(4, ()) if house.name != "row 3"]
    state = State(Frame(Puzzle(4, (*houses, other), ())))
    for cell in (Cell(1, 3), Cell(1, 4), Cell(3, 3), Cell(3, 4)):
        state.eliminate(state.frame.index[cell], 1)
    assert any(other in cites.houses[:2] for cites, _, _ in fish(state, 0, 2)) is found
