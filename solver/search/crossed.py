"""Sums that cross -> what areas of them leave: some less those that cross them, as long as that leaves few cells.

Where no house holds all digits this is what the 45 rule is elsewhere: all runs across of an area add to as much as
all runs down, but for the cells in which they do not agree.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

from cagework.solver.bitset import members
from cagework.solver.search.rule_of_45 import Remainder, Sums, left_open

_MOST_SUMS = 20
"""Sums of one area (measured)."""


def remainders(sums: Sums, most: int, digits: Sequence[int] = ()) -> list[Remainder]:
    """Return what areas of sums, as cells with totals, leave of at most `most` cells, each once; `digits` has for
    each cell the digit that is placed there, or 0; it is empty where there are none.

    Each sum is taken to begin an area, which then grows. Of sums that overlap each other and cross the same ones
    the first is taken.
    """
    sums = left_open(sums, digits)
    ones = _apart(sums)
    others = _apart([one for one in sums if one not in ones])
    if not others:
        return []
    signed = [(cells, total, False) for cells, total in ones] + [(cells, total, True) for cells, total in others]
    through = {(cell, taken): number for number, (cells, _, taken) in enumerate(signed) for cell in members(cells)}
    crossing = [[through[cell, not taken] for cell in members(cells) if (cell, not taken) in through]
                for cells, _, taken in signed]
    lengths = [cells.bit_count() for cells, _, _ in signed]
    found: dict[tuple[int, int], int] = {}
    for start in range(len(signed)):
        order = islice(taken_in(lengths, crossing, start), _MOST_SUMS)
        for plus, minus, total in _left_after(signed, order):
            if (plus | minus).bit_count() <= most:
                if minus > plus:
                    plus, minus, total = minus, plus, -total
                if plus or total:
                    found[plus, minus] = total
    return [(plus, minus, total) for (plus, minus), total in found.items()]


def _apart(sums: Sums) -> list[tuple[int, int]]:
    """Those that do not overlap the ones before them."""
    kept, covered = [], 0
    for cells, total in sums:
        if not cells & covered:
            covered |= cells
            kept.append((cells, total))
    return kept


def taken_in(lengths: Sequence[int], crossing: Sequence[Sequence[int]], start: int) -> Iterator[int]:
    """Yield the numbers of sums as an area takes them in: the first, and then the one that crosses most of what is
    left, and sticks out least, time and again.

    `lengths` are in cells; `crossing` has for each sum those that cross it, once for each cell.
    """
    inside: set[int] = set()
    more = {start: 0}   # of sums that cross the area: how many cells more, or fewer, each would leave of it
    while more:
        _, number = min(zip(more.values(), more, strict=True))
        del more[number]
        inside.add(number)
        yield number
        for other in crossing[number]:
            if other not in inside:
                more[other] = more.get(other, lengths[other]) - 2


def _left_after(signed: Sequence[tuple[int, int, bool]], order: Iterable[int]) -> list[Remainder]:
    """What an area leaves after each sum that is added to it, or taken off, but for the first."""
    left = [0, 0]       # the cells of sums added that no sum taken off has, and those the other way about
    total, found = 0, []
    for number in order:
        cells, made, taken = signed[number]
        met = cells & left[not taken]
        left[not taken] ^= met
        left[taken] |= cells ^ met
        total += -made if taken else made
        found.append((left[0], left[1], total))
    return found[1:]
