"""What both engines of the proof take from a citation: the signed sum that its houses and cages leave over."""

from __future__ import annotations

from cagework.solver.model import Cell
from cagework.solver.step import Cites

MOST_TRIES = 200_000
"""A proof that branches more often than this is given up: the step counts as not proved."""


def signed_total(size: int, cites: Cites) -> tuple[int, dict[Cell, int]]:
    """Return what the houses added up less the cages taken away make, and how often each cell is left in it."""
    total = 0
    signs: dict[Cell, int] = {}
    for house in cites.added:
        total += size * (size + 1) // 2
        for cell in house.cells:
            signs[cell] = signs.get(cell, 0) + 1
    for cage in cites.taken:
        total -= cage.total or 0
        for cell in cage.cells:
            signs[cell] = signs.get(cell, 0) - 1
    return total, signs
