"""Sums that rules state -> how each can be taken from an area of houses, as a cage is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from cagework.solver.bitset import set_of
from cagework.solver.model import Cell, Sum

_MOST_TOGETHER = 2
"""The most sums that are taken from one area: more are hard to keep in mind."""

Sides = tuple[int, int]
"""The cells of a sum that count, and those that are taken off, as bits."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A sum, by its number, as it is taken from an area: its cells `inside` go, and of those outside `plus` count
    with the area's and `minus` against them. Where its cells inside are those that are taken off, it is `added`.
    """

    number: int
    added: bool
    inside: int
    plus: int
    minus: int

    @property
    def cells(self) -> int:
        """All its cells."""
        return self.inside | self.plus | self.minus

    @property
    def way(self) -> tuple[int, bool]:
        """Which sum, and how: the same in all areas."""
        return self.number, self.added


def sides_of(sums: Iterable[Sum], index: Mapping[Cell, int]) -> dict[int, Sides]:
    """The sides of each sum of one total, by its number."""
    return {number: (set_of(map(index.__getitem__, one.plus)), set_of(map(index.__getitem__, one.minus)))
            for number, one in enumerate(sums) if len(one.totals) == 1}


def taken_together(cells: int, sums: Mapping[int, Sides]) -> list[tuple[Taken, ...]]:
    """Which sums can be taken from an area of these cells, alone or together, fewer first: those without a common
    cell. Each has two cells or more inside, no more outside, and none inside that would count twice.
    """
    each = [
        Taken(number, added, one & cells, other, one & ~cells)
        for number, sides in sums.items() for added, (one, other) in ((False, sides), (True, sides[::-1]))
        if 1 < (one & cells).bit_count() >= (other | one & ~cells).bit_count() and not other & cells]
    return [chosen for count in range(1, _MOST_TOGETHER + 1) for chosen in combinations(each, count)
            if _are_apart(chosen)]


def _are_apart(chosen: Sequence[Taken]) -> bool:
    """Whether no two have a common cell."""
    return not any(one.cells & other.cells for one, other in combinations(chosen, 2))
