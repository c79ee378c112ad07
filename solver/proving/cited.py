"""What both engines of the proof take from a citation: the signed sums that its houses and cages leave over."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.model import Cage, Cell, House, Sum
from cagework.solver.step import Summand

MOST_TRIES = 200_000
"""A proof that branches more often than this is given up: the step counts as not proved."""


def signed_total(size: int, added: Sequence[Summand], taken: Sequence[Summand]) -> tuple[int, dict[Cell, int]]:
    """Return what is added up less what is taken away makes, and how often each cell is left in it."""
    total = 0
    signs: dict[Cell, int] = {}
    for sign, summands in ((1, added), (-1, taken)):
        for one in summands:
            plus, minus = (one.plus, one.minus) if isinstance(one, Sum) else (one.cells, ())
            total += sign * _makes(size, one)
            for way, cells in ((sign, plus), (-sign, minus)):
                for cell in cells:
                    signs[cell] = signs.get(cell, 0) + way
    return total, signs


def _makes(size: int, one: Summand) -> int:
    """What a house of all digits makes, a cage with a sum, or a sum of one total."""
    match one:
        case House():
            return size * (size + 1) // 2
        case Cage():
            return one.total or 0
        case Sum():
            return one.totals[0]
