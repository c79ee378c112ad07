"""What the cages of a puzzle look like, in figures: so that taste can be stated, and be held to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import isqrt

from cagework.solver.model import Cell, Puzzle
from cagework.solver.symmetry import Motion, moved


@dataclass(frozen=True, slots=True)
class Look:
    """`lone` cages of one cell, `filling` ones that fill a house, and the share that has two cells, `dominoes`.

    `squareness` is 0 where every cage of four cells or more is as winding as can be, 1 where each is as square.
    """

    lone: int
    filling: int
    dominoes: float
    squareness: float


def look(puzzle: Puzzle) -> Look:
    """What the cages of a puzzle look like."""
    cages = [cage.cells for cage in puzzle.cages]
    houses = {frozenset(house.cells) for house in puzzle.houses}
    spare = most = 0
    for cells in cages:
        least = len(cells) - 1
        spare += _sides(cells) - least
        most += most_sides(len(cells)) - least
    return Look(
        sum(len(cells) == 1 for cells in cages),
        sum(len(cells) == puzzle.size and frozenset(cells) in houses for cells in cages),
        sum(len(cells) == 2 for cells in cages) / max(1, len(cages)),
        spare / most if most else 1.0)


def most_sides(cells: int) -> int:
    """How many sides so many squares can share at most: the whole part of 2n - 2 √n (Harary and Harborth,
    "Extremal animals", Journal of Combinatorics, Information & System Sciences 1, 1976; from memory).
    """
    root = isqrt(4 * cells)
    return 2 * cells - (root if root * root == 4 * cells else root + 1)


def alikeness(one: Puzzle, other: Puzzle) -> float:
    """The share of the borders between cages that two puzzles have in common, where one is turned or mirrored so
    that it is greatest; 0 for grids of different size.
    """
    if one.size != other.size:
        return 0.0
    theirs = _borders(other, Motion.NONE)
    both = [(len(ours & theirs), len(ours | theirs)) for ours in (_borders(one, motion) for motion in Motion)]
    return max(common / every if every else 1.0 for common, every in both)


def _sides(cells: Sequence[Cell]) -> int:
    """How many sides the cells share among them."""
    inside = set(cells)
    return sum(near in inside for cell in cells for near in cell.neighbours()) // 2


def _borders(puzzle: Puzzle, motion: Motion) -> frozenset[frozenset[Cell]]:
    """The pairs of cells beside each other that are not in one cage, after a motion."""
    caged = {moved(cell, motion, puzzle.size): number
             for number, cage in enumerate(puzzle.cages) for cell in cage.cells}
    cells: Iterable[Cell] = [moved(cell, motion, puzzle.size) for cell in puzzle.cells]
    return frozenset(
        frozenset((cell, near)) for cell in cells for near in cell.neighbours()
        if min(near) >= 1 and max(near) <= puzzle.size and (cell not in caged or caged[cell] != caged.get(near)))
