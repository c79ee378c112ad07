"""The 45 rule: houses and cages -> the totals of innies and outies.

Every house that holds all digits has the same total. Take one such house, or several that do not overlap,
and the cages that lie inside: what is left over has a known total as well. A cage that sticks out counts by
its cells inside or, where those are more, by its total less the cells outside; so a remainder is a sum of
some cells less a sum of others. Nothing is assumed distinct here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cagework.solver.bitset import members

Remainder = tuple[int, int, int]
"""Cells that count, cells that are taken off (both as bits), and the total they make."""


def most_cells(size: int) -> int:
    """The most cells of a remainder worth having: more cost more time than they save (measured)."""
    return size // 2 + 1


def remainders(
    size: int,
    families: Sequence[Sequence[int]],
    bands: Sequence[Sequence[int]],
    cages: Sequence[tuple[int, int]],
) -> list[Remainder]:
    """Return every remainder of at most `most_cells` cells, each once.

    Houses and cages are sets of cells as bits, cages with their totals; overlapping cages are passed over.
    Each of `bands` is a family of houses in which neighbours follow one another, such as the rows; runs of
    up to half the grid are taken, and the whole grid, which tells of one wrong total. Of each of `families`
    single houses and adjoining pairs are taken.
    """
    cage_at: dict[int, tuple[int, int]] = {}
    covered = 0
    for cells, total in cages:
        if not cells & covered:
            covered |= cells
            for cell in members(cells):
                cage_at[cell] = cells, total
    found: dict[tuple[int, int], int] = {}
    house_total = size * (size + 1) // 2
    for area, count in _areas(size, families, bands):
        remainder = _remainder(area, count * house_total, cage_at, most_cells(size))
        if remainder:
            plus, minus, total = remainder
            found[plus, minus] = total
    return [(plus, minus, total) for (plus, minus), total in found.items()]


def _areas(
    size: int, families: Sequence[Sequence[int]], bands: Sequence[Sequence[int]]
) -> Iterator[tuple[int, int]]:
    """Sets of houses that do not overlap, as (cells, number of houses)."""
    for band in bands:
        for start in range(len(band)):
            area = 0
            for count, house in enumerate(band[start : start + size // 2 + 1], 1):
                area |= house
                yield area, count
        yield sum(band), len(band)
    inner = sum(((1 << size - 1) - 1) << row * size for row in range(size))
    for family in families:
        for index, house in enumerate(family):
            yield house, 1
            right, left = (house & inner) << 1, house >> 1 & inner
            around = right | left | house << size | house >> size
            for other in family[index + 1 :]:
                if around & other and not house & other:
                    yield house | other, 2


def _remainder(
    area: int, total: int, cage_at: dict[int, tuple[int, int]], most: int
) -> Remainder | None:
    """What the cages leave of one area; None where that is nothing or more than `most` cells."""
    plus = minus = count = 0
    left = area
    while left:
        low = left & -left
        held = cage_at.get(low.bit_length() - 1)
        if held is None:
            plus |= low
            left ^= low
            count += 1
        else:
            cells, cage_total = held
            left &= ~cells
            outside = cells & ~area
            if not outside:
                total -= cage_total
                continue
            inside = cells & area
            sticking, fitting = outside.bit_count(), inside.bit_count()
            if sticking < fitting:
                minus |= outside
                total -= cage_total
                count += sticking
            else:
                plus |= inside
                count += fitting
        if count > most:
            return None
    if not plus:
        plus, minus, total = minus, 0, -total
    return (plus, minus, total) if plus or total else None
