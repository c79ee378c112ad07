"""Citations put together: each thing once, a cell's missing digits added up."""

from __future__ import annotations

from cagework.solver.model import Cage, Cell, House, HouseKind, Pair
from cagework.solver.step import Cites, joined

ONE, OTHER = Cell(1, 1), Cell(1, 2)
ROW = House("row 1", HouseKind.ROW, (ONE, OTHER))
CAGE = Cage((ONE, OTHER), 3)
PAIR = Pair.of(ONE, OTHER, 2, lambda x, y: x != y)


def test_citations_are_joined() -> None:
    parts = (Cites(((ONE, 0b01),), (ROW,), pairs=(PAIR,)), Cites(((ONE, 0b10), (OTHER, 0b01)), (ROW,), (CAGE,)),
             Cites(pairs=(PAIR,)))
    assert joined(*parts) == Cites(((ONE, 0b11), (OTHER, 0b01)), (ROW,), (CAGE,), (PAIR,))
    assert joined() == Cites()
