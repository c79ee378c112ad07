"""The 45 rule: houses and cages -> the totals of innies and outies.

Every house that holds all digits has the same total. Take one such house, or several that do not overlap,
and the cages that lie inside: what is left over has a known total as well. A cage that sticks out counts by
its cells inside or, where those are more, by its total less the cells outside; so a remainder is a sum of
some cells less a sum of others. Nothing is assumed distinct here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import combinations

Remainder = tuple[int, int, int]
"""Cells that count, cells that are taken off (both as bits), and the total they make."""

Sums = Sequence[tuple[int, int]]
"""Sets of cells as bits, each with its total."""


def most_cells(size: int) -> int:
    """The most cells of a remainder worth having: more cost more time than they save (measured)."""
    return min(5, (size + 1) // 2)


def remainders(
    size: int, families: Sequence[Sums], bands: Sequence[Sums], cages: Sums, most: int
) -> list[Remainder]:
    """Return remainders of at most `most` cells, each once.

    Houses and cages are sets of cells with their totals; overlapping cages are passed over. Each of `bands` is
    a family of houses in which neighbours follow one another, such as the rows; runs of them are taken. Of each
    of `families` single houses and adjoining pairs are taken.
    """
    apart: list[tuple[int, int]] = []
    covered = 0
    for cage in cages:
        if not cage[0] & covered:
            covered |= cage[0]
            apart.append(cage)
    found: dict[tuple[int, int], int] = {}
    for band in bands:
        for (before, all_before), (after, all_after) in combinations(_stacked(band, apart, covered), 2):
            # What both leave in the same way cancels out.
            if (all_before ^ all_after).bit_count() <= most and not after[0] & before[1] | after[1] & before[0]:
                plus = after[0] & ~before[0] | before[1] & ~after[1]
                minus = after[1] & ~before[1] | before[0] & ~after[0]
                _keep(found, plus, minus, after[2] - before[2])
    for family in families:
        touching = [[cage for cage in apart if cage[0] & house] for house, _ in family]
        for (area, total), near in zip(family, touching, strict=True):
            _keep_if_small(found, _remainder(area, total, near, covered, most))
        for one, other in _adjoining(size, tuple([house for house, _ in family])):
            area, total = family[one][0] | family[other][0], family[one][1] + family[other][1]
            near = touching[one] + [cage for cage in touching[other] if not cage[0] & family[one][0]]
            _keep_if_small(found, _remainder(area, total, near, covered, most))
    return [(plus, minus, total) for (plus, minus), total in found.items()]


def _stacked(band: Sums, cages: Sums, covered: int) -> Iterator[tuple[Remainder, int]]:
    """What the first houses of a band leave, from none of them to all, and all of its cells."""
    area = total = 0
    yield (0, 0, 0), 0
    for house, house_total in band:
        area |= house
        total += house_total
        plus, minus, left = area & ~covered, 0, total
        waiting = []
        for cage in cages:
            cells = cage[0]
            inside = cells & area
            if inside == cells:
                total -= cage[1]
                left -= cage[1]
                continue
            waiting.append(cage)
            if inside:
                outside = cells ^ inside
                if outside.bit_count() < inside.bit_count():
                    minus |= outside
                    left -= cage[1]
                else:
                    plus |= inside
        cages = waiting
        yield (plus, minus, left), plus | minus


def _remainder(
    area: int, total: int, cages: Iterable[tuple[int, int]], covered: int, most: int
) -> Remainder | None:
    """What the cages leave of one area; None where that is more than `most` cells."""
    plus, minus = area & ~covered, 0
    for cells, cage_total in cages:
        outside = cells & ~area
        if not outside:
            total -= cage_total
            continue
        inside = cells & area
        if outside.bit_count() < inside.bit_count():
            minus |= outside
            total -= cage_total
        else:
            plus |= inside
        if plus.bit_count() + minus.bit_count() > most:
            break
    return (plus, minus, total) if plus.bit_count() + minus.bit_count() <= most else None


def _keep_if_small(found: dict[tuple[int, int], int], remainder: Remainder | None) -> None:
    if remainder is not None:
        _keep(found, *remainder)


def _keep(found: dict[tuple[int, int], int], plus: int, minus: int, total: int) -> None:
    """Add one remainder, unless it says nothing."""
    if not plus:
        plus, minus, total = minus, 0, -total
    if plus or total:
        found[plus, minus] = total


@lru_cache(maxsize=16)
def _adjoining(size: int, houses: tuple[int, ...]) -> tuple[tuple[int, int], ...]:
    """Pairs of houses that touch and do not overlap, by number."""
    inner = sum([((1 << size - 1) - 1) << row * size for row in range(size)])
    pairs = []
    for number, house in enumerate(houses):
        around = (house & inner) << 1 | house >> 1 & inner | house << size | house >> size
        for other in range(number + 1, len(houses)):
            if around & houses[other] and not house & houses[other]:
                pairs.append((number, other))
    return tuple(pairs)
