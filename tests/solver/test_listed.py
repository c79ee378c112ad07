"""A listed house: its meaning against its lowering, over every filling of its cells."""

from __future__ import annotations

from itertools import product

from cagework.solver.figure import Tint
from cagework.solver.listed import ListedHouse
from cagework.solver.model import Cell


def test_meaning_and_lowering_agree() -> None:
    cells = (Cell(1, 1), Cell(2, 3), Cell(4, 2))
    rule = ListedHouse(4, "sail", cells)
    (house,) = rule.facts()
    verdicts = set()
    for digits in product(range(1, 5), repeat=3):
        filling = dict(zip(cells, digits, strict=True))
        lowered = len({filling[cell] for cell in house.cells}) == len(house.cells)
        assert rule.allows(filling) == lowered
        verdicts.add(lowered)
    assert verdicts == {True, False}
    assert rule.figures() == (Tint(cells),)
