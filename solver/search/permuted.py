"""Whole houses: every digit once, and the sums that lie inside, all at the same time.

A set of sets of digits is an int, with bit s for the set whose mask is s, as in `support`. The cells of a house
are filled one by one, those of a sum together: how much the digits so far make is then known where a sum ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from cagework.solver.bitset import members
from cagework.solver.search.fields import Fields
from cagework.solver.search.propagators import Propagator
from cagework.solver.support import family, lacking


def permuted(shape: Fields, cells: Sequence[int], ends: dict[int, int]) -> Propagator:
    """What no filling of a house's cells has is lost; `ends` has the total of the first cells, by their number."""
    size, width = shape.size, shape.width
    full = (1 << size) - 1
    steps = _steps(size)
    places = [cell * width for cell in cells]
    bounds = [family(size, number, ends[number]) if number in ends else -1 for number in range(1, size)]
    bounds.append(1 << full)

    def lost(grid: int) -> int:
        reached = 1
        stages = []
        for place, bound in zip(places, bounds, strict=True):
            ways = steps[grid >> place & full]
            stages.append((place, ways, reached))
            further = 0
            for bit, without in ways:
                further |= (reached & without) << bit
            reached = further & bound
            if not reached:
                return -1
        wanted = reached
        gone = 0
        for place, ways, reached in reversed(stages):
            before = 0
            for bit, without in ways:
                leads = wanted >> bit & reached & without
                if leads:
                    before |= leads
                else:
                    gone |= bit << place
            wanted = before
        return gone

    return lost


class _Steps(dict[int, tuple[tuple[int, int], ...]]):
    """A mask's digits as bits, each with all sets without it as one set of sets; found when they are asked for."""

    def __init__(self, size: int) -> None:
        """Digits from 1 to `size`."""
        super().__init__()
        self.lacking = lacking(size)

    def __missing__(self, mask: int) -> tuple[tuple[int, int], ...]:
        found = self[mask] = tuple([(bit, sets) for bit, sets in self.lacking.items() if mask & bit])
        return found


@lru_cache(maxsize=16)
def _steps(size: int) -> _Steps:
    """The table for a grid of this size."""
    return _Steps(size)


def parted(house: int, sums: Sequence[tuple[int, int]]) -> tuple[list[int], dict[int, int]]:
    """The cells of a house, those of sums that lie inside and do not overlap first; and the total of each part."""
    cells: list[int] = []
    ends: dict[int, int] = {}
    covered = all_of_it = 0
    for bits, total in sums:
        if not bits & ~house and not bits & covered:
            covered |= bits
            cells += members(bits)
            all_of_it += total
            ends[len(cells)] = all_of_it
    cells += members(house & ~covered)
    return cells, ends
