"""Deduction to a fixed point over a kernel."""

from __future__ import annotations

from cagework.solver.search.ground import locked, singles
from cagework.solver.search.kernel import HOUSES, LONG, Kernel, Tier

_REMEMBERED = 1 << 12
"""Results kept with one fact: a long search must not fill the memory."""


def propagate(
    kernel: Kernel, grid: int, before: int | None, *, thorough: bool = True,
) -> int:
    """Narrow a grid; `before` is a wider one on which this found nothing more, None where there is none.

    Unless `thorough`, what seldom narrows is left out.

    Returns the grid; where some fact cannot hold, a negative number: ~bits, where the bits are in the fields of
    the cells that show it, or there are none.
    """
    shape = kernel.ground.fields
    single = kernel.placed if before is None else shape.guard ^ shape.open(before)
    coupled = ~grid if before is None else before
    rested = [coupled] * len(kernel.tiers)
    grid, single = settled(kernel, grid, single)
    while grid >= 0:
        if coupled != grid:
            changed, coupled = coupled ^ grid, grid
            grid, single = _coupled(kernel, grid, single, changed)
            continue
        start = grid
        for number, tier in enumerate(kernel.tiers):
            changed = rested[number] ^ start
            if changed:
                if number > LONG and not thorough:
                    return grid
                rested[number] = start
                if number == HOUSES:
                    grid, single = settled(kernel, singles(kernel.ground, grid), single)
                    if grid == start and thorough:
                        grid, single = settled(kernel, locked(kernel.ground, grid), single)
                    changed |= grid ^ start
                if tier and grid >= 0:
                    grid, single = _swept(kernel, tier, grid, single, changed)
                if grid != start:
                    break
        else:
            break
    return grid


def _coupled(kernel: Kernel, grid: int, single: int, changed: int) -> tuple[int, int]:
    """As `_swept`, for the facts of two cells, which are so many that each costs no call."""
    start, full = grid, (1 << kernel.ground.fields.size) - 1
    for couple in kernel.couples:
        if couple[0] & changed:
            mask, here, there, turned, up, down, up_again, down_again, unlike, next_door, _ = couple
            one, other = grid >> here & full, grid >> there & full
            kept = one & turned[other] << up >> down & unlike
            answers = turned[kept] << up_again >> down_again
            if kept != one or answers != other:
                if not kept:
                    return ~mask, single
                lost = (one ^ kept) << here | (other ^ answers) << there
                grid ^= lost
                changed |= lost
            if kept == answers and next_door and kept.bit_count() == 2:
                lost = next_door * kept & grid
                grid ^= lost
                changed |= lost
    return (grid, single) if grid == start else settled(kernel, grid, single)


def _swept(kernel: Kernel, tier: Tier, grid: int, single: int, changed: int) -> tuple[int, int]:
    """Look once at each fact of a tier with a cell that has changed; `single` and the result as `settled`."""
    for mask, known, propagator, _ in tier:
        if mask & changed:
            held = grid & mask
            lost = known.get(held)
            if lost is None:
                if len(known) >= _REMEMBERED:
                    known.clear()
                known[held] = lost = propagator(held)
            if lost:
                if lost < 0:
                    return ~mask, single
                lost &= grid
                if lost:
                    left, single = settled(kernel, grid ^ lost, single)
                    if left < 0:
                        return left, single
                    changed |= left ^ grid
                    grid = left
    return grid, single


def settled(kernel: Kernel, grid: int, single: int) -> tuple[int, int]:
    """A digit that is placed leaves all cells that see it.

    `single` are the guards of the cells for which that is done. Returns the grid, as `propagate` does, and the
    guards of all cells with a single digit.
    """
    shape, seen = kernel.ground.fields, kernel.seen
    every, guard, size, width = shape.every, shape.guard, shape.size, shape.width
    while grid >= 0:
        filled = grid + every
        if filled & guard != guard:
            empty = guard ^ filled & guard
            return ~(empty - (empty >> size)), single
        placed = guard ^ single ^ ((grid & filled) + every & guard)
        if not placed:
            break
        single |= placed
        bits = grid & placed - (placed >> size)
        gone = 0
        while bits:
            bit = bits.bit_length() - 1
            bits ^= 1 << bit
            cell = bit // width
            gone |= seen[cell] << bit - cell * width
        grid &= ~gone
    return grid, single
