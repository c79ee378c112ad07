"""The 45 rule: houses and cages -> the totals of innies and outies.

Every house that holds all digits has the same total. Take one such house, or several that do not overlap,
and the cages that lie inside: what is left over has a known total as well. A cage that sticks out counts by
its cells inside or, where those are more, by its total less the cells outside; so a remainder is a sum of
some cells less a sum of others. Nothing is assumed distinct here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from cagework.solver.bitset import members, set_of
from cagework.solver.search.ground import Houses

Remainder = tuple[int, int, int]
"""Cells that count, cells that are taken off (both as bits), and the total they make."""

Sums = Sequence[tuple[int, int]]
"""Sets of cells as bits, each with its total."""

_FIELD = 13
"""Bits to an area, for how many of some cells lie inside or what they make, 16 * 136 at the most, and a guard.

Totals that no cells can make may run over: then there is no answer, whatever follows."""

_RUN = 2
"""Most houses of a run within a band. A longer one leaves at its ends what runs from the first house on leave,
but for cages as long as it is."""


@dataclass(frozen=True, slots=True, eq=False)
class Areas:
    """Areas of whole houses: `sums` has the cells of each with their total.

    An int with a field for each area counts cells in all of them at once: `low` has the lowest bit of every field,
    `around` for each cell those of the areas it lies in.
    """

    sums: Sums
    low: int
    around: tuple[int, ...]


def most_cells(size: int) -> int:
    """The most cells of a remainder worth having: more cost more time than they save (measured)."""
    return min(5, (size + 1) // 2)


@lru_cache(maxsize=16)
def areas(size: int, families: tuple[Houses, ...], bands: tuple[Houses, ...]) -> Areas:
    """Return the areas of houses, which are sets of cells with their totals.

    Each of `bands` is a family of houses in which neighbours follow one another, such as the rows; short runs of
    them are taken, and those from the first on. Of each of `families` single houses and adjoining pairs are taken.
    Houses that overlap are not taken together.
    """
    sums: list[tuple[int, int]] = []
    around = [0] * size**2
    inside: dict[int, int] = {}

    def add(*houses: tuple[int, int]) -> None:
        area = made = 0
        for house, total in houses:
            if area & house:
                return      # what houses that overlap make together is not known
            area |= house
            made += total
        for house, _ in houses:
            inside[house] = inside.get(house, 0) | 1 << len(sums) * _FIELD
        sums.append((area, made))

    for band in bands:
        for first, last in combinations(range(len(band) + 1), 2):
            if not first or last - first <= _RUN:
                add(*band[first:last])
    for family in families:
        for house in family:
            add(house)
        for one, other in _adjoining(size, tuple([house for house, _ in family])):
            add(family[one], family[other])
    for cells, fields in inside.items():
        for cell in members(cells):
            around[cell] |= fields
    return Areas(tuple(sums), sum([1 << number * _FIELD for number in range(len(sums))]), tuple(around))


def remainders(known: Areas, cages: Sums, most: int, digits: Sequence[int] = ()) -> list[Remainder]:
    """Return remainders of at most `most` cells, each once.

    Cages are sets of cells with their totals; overlapping ones are passed over. `digits` has for each cell the
    digit that is placed there, or 0: such cells are in no remainder. It is empty where there are none.
    """
    apart: list[tuple[int, int]] = []
    covered = placed = _placed(digits)
    for cage in left_open(cages, digits):
        if not cage[0] & covered:
            covered |= cage[0]
            apart.append(cage)
    left, made, cut = _counted(known, apart, covered)
    low = known.low
    guard = low << _FIELD - 1
    few = (most * low | guard) - left & guard
    few >>= _FIELD - 1
    sides: dict[int, list[int]] = {}
    for cells, areas_cut in cut:
        for bit in _bits(areas_cut & few):
            sides.setdefault(bit, []).append(cells)
    found: dict[tuple[int, int], int] = {}
    for bit in _bits(few):
        area, total = known.sums[bit // _FIELD]
        total -= made >> bit & (1 << _FIELD) - 1
        if placed & area:
            total -= _made(placed & area, digits)
        plus, minus = area & ~covered, 0
        for cells in sides.get(bit, ()):
            inside = cells & area
            outside = cells ^ inside
            if outside.bit_count() < inside.bit_count():
                minus |= outside
            else:
                plus |= inside
        if not plus:
            plus, minus, total = minus, 0, -total
        if plus or total:
            found[plus, minus] = total
    return [(plus, minus, total) for (plus, minus), total in found.items()]


def _counted(known: Areas, cages: Sums, covered: int) -> tuple[int, int, list[tuple[int, int]]]:
    """In each area, how many cells are left over, and what the cages make that are taken off as a whole; then the
    cages with the areas that cut them.

    A cage leaves its cells inside or those outside, whichever are fewer; if those are outside it is taken off.
    """
    low, around = known.low, known.around
    guard = low << _FIELD - 1
    left = made = 0
    cut = []
    for cell in members(~covered & (1 << len(around)) - 1):
        left += around[cell]
    for cells, total in cages:
        inside = 0
        each = members(cells)
        for cell in each:
            inside += around[cell]
        count = len(each)
        if count < 2:
            made += inside * total
            continue
        if count == 2:
            few = in_two = inside & low
            more = inside >> 1 & low
        elif count == 3:
            few = in_two = (inside ^ inside >> 1) & low
            more = inside >> 1 & low
        else:
            outside = count * low - inside
            as_many = (inside | guard) - outside & guard
            few = inside ^ (inside ^ outside) & as_many - (as_many >> _FIELD - 1)
            in_two = few + (guard - low) >> _FIELD - 1 & low
            more = (inside | guard) - outside - low >> _FIELD - 1 & low
        left += few
        made += more * total
        cut.append((cells, in_two))
    return left, made, cut


def _bits(fields: int) -> Iterator[int]:
    """The bits that are set in a long int."""
    while fields:
        bit = fields.bit_length() - 1
        yield bit
        fields ^= 1 << bit


def left_open(sums: Sums, digits: Sequence[int]) -> Sums:
    """What placed digits leave of sums; those of which nothing is open are left out."""
    placed = _placed(digits)
    if not placed:
        return sums
    return [(cells & ~placed, total - _made(cells & placed, digits)) for cells, total in sums if cells & ~placed]


def _placed(digits: Sequence[int]) -> int:
    """The cells in which a digit is placed."""
    return set_of([cell for cell, digit in enumerate(digits) if digit])


def _made(cells: int, digits: Sequence[int]) -> int:
    """What the digits of cells that are placed make."""
    return sum([digits[cell] for cell in members(cells)])


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
