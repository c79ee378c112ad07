"""Citations put together."""

from __future__ import annotations

from cagework.solver.model import Cage, Cell, Pair, standard_houses
from cagework.solver.step import Cites, joined


def test_a_joined_citation_has_each_thing_once_and_all_digits_of_a_cell() -> None:
    row, column, *_ = standard_houses(4)
    one, other = Cell(1, 1), Cell(1, 2)
    cage, pair = Cage((one, other), 3), Pair(one, other, (15,) * 4)
    first = Cites(((one, 0b1),), (row,), (cage,))
    second = Cites(((one, 0b10), (other, 0b1)), (row, column), (cage,), (pair,))
    assert joined(first, second) == Cites(((one, 0b11), (other, 0b1)), (row, column), (cage,), (pair,))
    assert joined() == Cites()
