"""What both engines of the proof take from a citation: the signed sums that its houses and cages leave over."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.model import Cell, House
from cagework.solver.step import Summand

MOST_TRIES = 200_000
"""A proof that branches more often than this is given up: the step counts as not proved."""


def signed_total(size: int, added: Sequence[Summand], taken: Sequence[Summand]) -> tuple[int, dict[Cell, int]]:
    """Return what is added up less what is taken away makes, and how often each cell is left in it."""
    total = 0
    signs: dict[Cell, int] = {}
    for sign, summands in ((1, added), (-1, taken)):
        for one in summands:
            total += sign * (size * (size + 1) // 2 if isinstance(one, House) else one.total or 0)
            for cell in one.cells:
                signs[cell] = signs.get(cell, 0) + sign
    return total, signs
