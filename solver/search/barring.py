"""What all places of a digit in a house forbid, where pairs of cells forbid more than the same digit twice."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from cagework.solver.bitset import members
from cagework.solver.search.fields import Fields
from cagework.solver.search.ground import Ground
from cagework.solver.search.propagators import Propagator

_FEW_PLACES = 4
"""Places of a digit in a house that are looked at together (measured)."""


def bars(base: Ground) -> list[list[int]]:
    """By cell and digit, from 0: what is lost once the digit is placed there."""
    shape, size = base.fields, base.fields.size
    full = (1 << size) - 1
    found = [[base.seen[cell] << digit | (full ^ 1 << digit) << cell * shape.width for digit in range(size)]
             for cell in range(len(base.seen))]
    for cell, others in base.relations.items():
        for other, forbidden in others:
            for digit, bits in enumerate(forbidden):
                found[cell][digit] |= bits << other * shape.width
    return found


def places(shape: Fields, cells: Sequence[int], barred: Sequence[Sequence[int]]) -> Propagator:
    """What goes with none of the places that a digit has in a house is lost, wherever it is.

    `barred` are the ground's `bars`. More than `_FEW_PLACES` places are passed over.
    """
    size, full = shape.size, (1 << shape.size) - 1
    shifts = [cell * shape.width for cell in cells]
    spread = _spread(size)
    table: dict[tuple[int, int], int] = {}

    def lost(grid: int) -> int:
        where = 0
        for number, shift in enumerate(shifts):
            where |= spread[grid >> shift & full] << number
        gone = 0
        for digit in range(size):
            here = where & full
            where >>= size
            if here & here - 1 and here.bit_count() <= _FEW_PLACES:
                common = table.get((digit, here))
                if common is None:
                    common = -1
                    for number in members(here):
                        common &= barred[cells[number]][digit]
                    table[digit, here] = common
                gone |= common
        return gone

    return lost


@lru_cache(maxsize=16)
def _spread(size: int) -> Sequence[int]:
    """The digits of a mask, each at the lowest bit of a run of `size` bits."""
    table = [0]
    for digit in range(size):
        table += [one | 1 << digit * size for one in table]
    return table
