"""What both engines of the proof take from a citation: the signed sums that its houses and cages leave over."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.model import Cage, Cell, House

MOST_TRIES = 200_000
"""A proof that branches more often than this is given up: the step counts as not proved."""


def signed_total(size: int, added: Sequence[House], taken: Sequence[Cage]) -> tuple[int, dict[Cell, int]]:
    """Return what the houses added up less the cages taken away make, and how often each cell is left in it."""
    total = 0
    signs: dict[Cell, int] = {}
    for house in added:
        total += size * (size + 1) // 2
        for cell in house.cells:
            signs[cell] = signs.get(cell, 0) + 1
    for cage in taken:
        total -= cage.total or 0
        for cell in cage.cells:
            signs[cell] = signs.get(cell, 0) - 1
    return total, signs
