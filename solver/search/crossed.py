"""Sums that cross -> what areas of them leave: some less those that cross them, as long as that leaves few cells.

Where no house holds all digits this is what the 45 rule is elsewhere: all runs across of an area add to as much as
all runs down, but for the cells in which they do not agree.
"""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.bitset import members
from cagework.solver.search.rule_of_45 import Remainder, Sums, left_open

_MOST_SUMS = 20
"""Sums of one area (measured)."""


def remainders(sums: Sums, most: int, digits: Sequence[int] = ()) -> list[Remainder]:
    """Return what areas of sums, as cells with totals, leave of at most `most` cells, each once; `digits` has for
    each cell the digit that is placed there, or 0; it is empty where there are none.

    Each sum is taken to begin an area, and then the sum that crosses most of what is left, and sticks out least,
    time and again. Of sums that overlap each other and cross the same ones the first is taken.
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
    found: dict[tuple[int, int], int] = {}
    for start in range(len(signed)):
        for plus, minus, total in _grown(signed, crossing, start):
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


def _grown(
    signed: list[tuple[int, int, bool]], crossing: Sequence[Sequence[int]], start: int,
) -> list[Remainder]:
    """What an area leaves after each sum that is added to it, or taken off, but for the first; `crossing` has for
    each sum those that cross it.
    """
    left = [0, 0]       # the cells of sums added that no sum taken off has, and those the other way about
    total, found = 0, []
    inside: set[int] = set()
    more = {start: 0}   # of sums that cross the area: how many cells more, or fewer, each would leave of it
    while more and len(inside) < _MOST_SUMS:
        _, number = min(zip(more.values(), more, strict=True))
        del more[number]
        inside.add(number)
        for other in crossing[number]:
            if other not in inside:
                more[other] = more.get(other, signed[other][0].bit_count()) - 2
        cells, made, taken = signed[number]
        met = cells & left[not taken]
        left[not taken] ^= met
        left[taken] |= cells ^ met
        total += -made if taken else made
        if len(inside) > 1:
            found.append((left[0], left[1], total))
    return found
