"""Cages and sums as lists of the ways to fill them, and which ways of one list suit which of another.

A packed grid is one number with `size` bits a cell, the first cell's lowest; bit d - 1 of a cell stands for
digit d. One such number holds candidates, or a filling. A set of ways is a number too, with a bit for each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import prod
from operator import lshift

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.filling import fillings, supported
from cagework.solver.reasoning.frame import Frame

MOST_WAYS = 1_500
"""Cells with more ways than this are not listed."""

_MOST_CHOICES = 60_000
"""Nor are cells whose candidates can be put together in more ways, whatever they add up to."""

_LISTED_WHOLE = 5
"""A cage of so many cells is listed once and for all, whatever its candidates. A sum lasts less long: it is listed
for what its cells can hold when it is asked for.
"""

_MOST_LIVE = 4_000
"""What a list remembers of candidates before it forgets it all."""


_Apart = tuple[tuple[int, ...], ...]
_Sum = tuple[tuple[int, ...], tuple[int, ...], int | None, _Apart]
"""Cells added, cells taken away, what they make (None for one cell that holds anything), who differs from whom."""


@dataclass(frozen=True, slots=True)
class _Rows:
    """Ways as one bit for each cell; and for each cell and digit, which of them have it there."""

    ways: Sequence[tuple[int, ...]]
    having: Sequence[Sequence[int]]


@lru_cache(maxsize=1 << 9)
def _table(masks: tuple[int, ...], signs: tuple[int, ...], total: int | None, apart: _Apart) -> _Rows | None:
    """The ways of some cells, wherever they are; None where they are too many to list."""
    size = max(masks).bit_length()
    if total is None:
        ways: Sequence[tuple[int, ...]] = [(1 << index,) for index in members(masks[0])]
    else:
        if _is_cage(signs, apart):
            masks = supported(masks, total) or (0,) * len(masks)
        if prod(map(int.bit_count, masks)) > _MOST_CHOICES:
            return None
        found = fillings(masks, total, MOST_WAYS, signs, apart)
        if found is None:
            return None
        ways = found
    having = [[0] * size for _ in masks]
    for number, way in enumerate(ways):
        for held, bit in zip(having, way, strict=True):
            held[bit.bit_length() - 1] |= 1 << number
    return _Rows(ways, having)


def _is_cage(signs: tuple[int, ...], apart: _Apart) -> bool:
    """Whether cells are added up that all differ."""
    return -1 not in signs and all(len(before) == place for place, before in enumerate(apart))


class Table:
    """All ways to fill some cells within some candidates: `ways` are packed fillings, `every` is the set of all.

    `within` are the candidates and `mask` all digits that count, packed; `inside` are the cells as bits.
    `having` tells for a digit in a cell (one bit, packed) which ways have it; a digit that none has is left out.
    """

    __slots__ = ("_live", "cells", "every", "having", "inside", "mask", "ways", "within")

    def __init__(
        self, cells: Sequence[int], mask: int, within: int, ways: Sequence[int], having: Mapping[int, int]
    ) -> None:
        self.cells = cells
        self.inside = set_of(cells)
        self.mask = mask
        self.within = within
        self.ways = ways
        self.every = (1 << len(ways)) - 1
        self.having = having
        self._live: dict[int, int] = {}

    def live(self, part: int) -> int:
        """Return the ways that these candidates (packed, none but of those listed for) allow."""
        found = self._live.get(part)
        if found is None:
            if len(self._live) > _MOST_LIVE:
                self._live.clear()
            found = self._live[part] = self.every & ~self.any_of(self.within ^ part)
        return found

    def held(self, ways: int) -> int:
        """Return what the cells hold in any of these ways, packed."""
        digits = 0
        for bit, having in self.having.items():
            if ways & having:
                digits |= bit
        return digits

    def any_of(self, digits: int) -> int:
        """Return the ways that have any of these digits (packed)."""
        ways, having = 0, self.having
        digits &= self.within
        while digits:
            bit = digits & -digits
            digits ^= bit
            if bit in having:
                ways |= having[bit]
        return ways


class SumConstraint:
    """Cells to be filled so that those of `plus` less those of `minus` make a total.

    `apart` lists for each cell those before it, by place, that it differs from. A cell without a total holds
    any digit. `mask` has all digits of the cells, packed.
    """

    def __init__(self, size: int, sum_: _Sum) -> None:
        plus, minus, total, self.apart = sum_
        self.total = total
        self.size = size
        self.full = (1 << size) - 1
        self.cells = plus + minus
        self.signs = (1,) * len(plus) + (-1,) * len(minus)
        self.mask = sum([self.full << size * cell for cell in self.cells])
        self._too_many = 0
        self._listing: Table | None = None
        if total is not None and len(plus) <= _LISTED_WHOLE and _is_cage(self.signs, self.apart):
            self._list(self.mask)

    def part(self, masks: Sequence[int]) -> int:
        """Return the cells' candidates, packed."""
        return sum([masks[cell] << self.size * cell for cell in self.cells])

    def listing(self, part: int) -> Table | None:
        """Return the ways for these candidates (packed), perhaps among others; None where they are too many."""
        known = self._listing
        if known is not None:
            if not part & ~known.within:
                return known
            if self._list(part | known.within):
                return self._listing
        return self._listing if self._list(part) else None

    def _list(self, part: int) -> bool:
        """List the ways for these candidates; whether it could be done."""
        if self._too_many and not self._too_many & ~part:
            return False
        masks = tuple([part >> self.size * cell & self.full for cell in self.cells])
        table = _table(masks, self.signs, self.total, self.apart)
        if table is None:
            self._too_many = part
            return False
        shifts = [self.size * cell for cell in self.cells]
        ways = [sum(map(lshift, way, shifts)) for way in table.ways]
        having = {
            1 << shift + index: held for shift, by_digit in zip(shifts, table.having, strict=True)
            for index, held in enumerate(by_digit) if held
        }
        self._listing = Table(self.cells, self.mask, part, ways, having)
        return True

    def comes_out(self, filling: int) -> bool:
        """Whether a filling makes the total."""
        size, full = self.size, self.full
        return self.total == sum([
            sign * (filling >> size * cell & full).bit_length()
            for cell, sign in zip(self.cells, self.signs, strict=True)
        ])


class Compatibility(dict[int, int]):
    """For each way of one list, by its number, the ways of another that suit it; worked out when asked for.

    `sight` tells for each cell of the one which cells of the other it sees.
    """

    def __init__(self, size: int, one: Table, other: Table, sight: Sequence[int]) -> None:
        super().__init__()
        self.size, self.one, self.other = size, one, other
        self.sight = dict(zip(one.cells, sight, strict=True))
        self.beside: dict[int, int] = {}

    def __missing__(self, number: int) -> int:
        suits, way, beside = self.other.every, self.one.ways[number], self.beside
        while way:
            bit = way & -way
            way ^= bit
            found = beside.get(bit)
            suits &= self._beside(bit) if found is None else found
        self[number] = suits
        return suits

    def _beside(self, bit: int) -> int:
        """The other's ways that have no other digit in this cell, nor this digit in sight of it."""
        size = self.size
        cell, index = divmod(bit.bit_length() - 1, size)
        against = ((1 << size) - 1 << size * cell) ^ bit
        for seen in members(self.sight[cell]):
            against |= 1 << size * seen + index
        found = self.beside[bit] = self.other.every & ~self.other.any_of(against)
        return found


class Tables:
    """All lists of a puzzle, and how they suit each other.

    `fillings` are those met so far, packed, with the cages they fill as bits; by house, or by other facts.
    """

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.size = frame.size
        self.fillings: dict[object, dict[int, int]] = {}
        self._groups: dict[_Sum, SumConstraint] = {}
        self._places: dict[int, list[Table]] = {}
        self._links: dict[tuple[object, ...], Compatibility] = {}

    def cage(self, number: int) -> SumConstraint:
        """Return a cage with a total."""
        cells = self.frame.cages[number]
        apart = tuple([tuple(range(place)) for place in range(len(cells))])
        return self._group((cells, (), self.frame.totals[number], apart))

    def sum(self, plus: tuple[int, ...], minus: tuple[int, ...], total: int, sees: Sequence[int]) -> SumConstraint:
        """Return cells whose sum, or difference, is known; `sees` tells which of them differ."""
        cells = plus + minus
        apart = tuple([
            tuple([place for place in range(number) if sees[cell] >> cells[place] & 1])
            for number, cell in enumerate(cells)
        ])
        return self._group((plus, minus, total, apart))

    def cell(self, number: int) -> SumConstraint:
        """Return a cell by itself."""
        return self._group(((number,), (), None, ((),)))

    def places(self, house: int) -> list[Table]:
        """Return for each digit the places that a whole house has for it."""
        found = self._places.get(house)
        if found is None:
            cells = self.frame.houses[house]
            found = self._places[house] = []
            for index in range(self.size):
                ways = [1 << self.size * cell + index for cell in cells]
                having = {way: 1 << number for number, way in enumerate(ways)}
                found.append(Table(cells, sum(ways), sum(ways), ways, having))
        return found

    def _group(self, sum_: _Sum) -> SumConstraint:
        found = self._groups.get(sum_)
        if found is None:
            found = self._groups[sum_] = SumConstraint(self.size, sum_)
        return found

    def link(self, one: Table, other: Table, sees: Sequence[int]) -> Compatibility | None:
        """Return which ways of two lists suit each other; None where they have nothing to do with each other."""
        there = other.inside
        sight = [sees[cell] & there for cell in one.cells]
        if not any(sight) and not one.inside & there:
            return None
        key = one, other, *sight
        found = self._links.get(key)
        if found is None:
            found = self._links[key] = Compatibility(self.size, one, other, sight)
        return found


@lru_cache(maxsize=4)
def tables_of(frame: Frame) -> Tables:
    """Return the lists of a puzzle."""
    return Tables(frame)
