"""Cages and sums as table constraints: the tuples that satisfy one, and which tuples of two go together.

The words are those of constraint programming. A *table* lists the *tuples* of a constraint: each gives every
cell of it a digit. A tuple is *valid* while all its digits are candidates. The *supports* of a digit in a cell
are the tuples that have it there; a digit without a valid support is impossible. Tuples are numbered, and a set
of them is an int with a bit for each, as in Compact-Table (Demeulenaere and others, CP 2016).

Candidates of cells, and the digits of a tuple, are *packed* into an int: `size` bits a cell, the first cell's
lowest; bit d - 1 of a cell stands for digit d.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import prod
from operator import lshift
from typing import NamedTuple

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.filling import fillings, supported
from cagework.solver.reasoning.frame import Frame

_MOST_TUPLES = 1_500
"""A constraint with more tuples than this gets no table."""

_MOST_CHOICES = 60_000
"""Nor does one whose candidates can be put together in more ways, whatever they add up to."""

_TABLED_WHOLE = 5
"""A cage of so many cells gets its table once and for all, whatever its candidates. A sum lasts less long: its
table is of what its cells can hold when it is asked for.
"""

_MOST_REMEMBERED = 4_000
"""For so many candidates a table remembers its valid tuples before it forgets them all."""


class Table:
    """The tuples of some cells within some candidates.

    `tuples` are packed, and `every` is the set of all of them. `within` are the candidates and `mask` all digits
    of the cells, packed; `inside` are the cells as bits. `supports` gives for a digit in a cell (one bit,
    packed) the tuples that have it; a digit without any is left out.
    """

    __slots__ = ("_valid", "cells", "every", "inside", "mask", "supports", "tuples", "within")

    def __init__(
        self, cells: Sequence[int], mask: int, within: int, tuples: Sequence[int], supports: Mapping[int, int]
    ) -> None:
        self.cells = cells
        self.inside = set_of(cells)
        self.mask = mask
        self.within = within
        self.tuples = tuples
        self.every = (1 << len(tuples)) - 1
        self.supports = supports
        self._valid: dict[int, int] = {}

    def valid(self, candidates: int) -> int:
        """Return the tuples that are valid for these candidates (packed, none but of those of the table)."""
        known = self._valid.get(candidates)
        if known is None:
            if len(self._valid) > _MOST_REMEMBERED:
                self._valid.clear()
            known = self._valid[candidates] = self.every & ~self.tuples_with(self.within ^ candidates)
        return known

    def supported(self, tuples: int) -> int:
        """Return the digits that have a support among these tuples, packed."""
        digits = 0
        for digit, supports in self.supports.items():
            if tuples & supports:
                digits |= digit
        return digits

    def tuples_with(self, digits: int) -> int:
        """Return the tuples that have any of these digits (packed)."""
        tuples, supports = 0, self.supports
        digits &= self.within
        while digits:
            digit = digits & -digits
            digits ^= digit
            if digit in supports:
                tuples |= supports[digit]
        return tuples


_Apart = tuple[tuple[int, ...], ...]
"""For each cell of a sum, by place, those before it that it differs from."""


class _Sum(NamedTuple):
    """Cells added, cells taken away, what they make (None for one cell that holds anything), what differs."""

    plus: tuple[int, ...]
    minus: tuple[int, ...]
    total: int | None
    apart: _Apart


class SumConstraint:
    """Cells to be filled so that those added less those taken away make a total.

    A cell without a total holds any digit. `mask` has all digits of the cells, packed. A table once made is
    kept, and serves until a digit is asked for that it leaves out.
    """

    def __init__(self, size: int, sum_: _Sum) -> None:
        self.size = size
        self.cells = sum_.plus + sum_.minus
        self.total = sum_.total
        self.apart = sum_.apart
        self.signs = (1,) * len(sum_.plus) + (-1,) * len(sum_.minus)
        self.full = (1 << size) - 1
        self.mask = sum([self.full << size * cell for cell in self.cells])
        self._too_many = 0
        self._table: Table | None = None
        if self.total is not None and len(self.cells) <= _TABLED_WHOLE and _is_cage(self.signs, self.apart):
            self._table = self._new_table(self.mask)

    def packed(self, masks: Sequence[int]) -> int:
        """Return the cells' candidates, packed, out of all cells' masks."""
        return sum([masks[cell] << self.size * cell for cell in self.cells])

    def table(self, candidates: int) -> Table | None:
        """Return a table of these candidates (packed), perhaps of more; None where the tuples are too many."""
        known = self._table
        if known is not None and not candidates & ~known.within:
            return known
        new = self._new_table(candidates | known.within) if known is not None else None
        new = new or self._new_table(candidates)
        if new is not None:
            self._table = new
        return new

    def _new_table(self, candidates: int) -> Table | None:
        """The table of just these candidates; None where the tuples are too many, which is remembered."""
        if self._too_many and not self._too_many & ~candidates:
            return None
        shifts = [self.size * cell for cell in self.cells]
        tuples = _tuples(tuple([candidates >> shift & self.full for shift in shifts]),
                         self.signs, self.total, self.apart)
        if tuples is None:
            self._too_many = candidates
            return None
        supports = {
            1 << shift + index: numbers for shift, by_digit in zip(shifts, tuples.supports, strict=True)
            for index, numbers in enumerate(by_digit) if numbers
        }
        packed = [sum(map(lshift, digits, shifts)) for digits in tuples.digits]
        return Table(self.cells, self.mask, candidates, packed, supports)

    def is_satisfied(self, filling: int) -> bool:
        """Whether a filling (packed) makes the total."""
        size, full = self.size, self.full
        return self.total == sum([
            sign * (filling >> size * cell & full).bit_length()
            for cell, sign in zip(self.cells, self.signs, strict=True)
        ])


class _Tuples(NamedTuple):
    """Tuples of cells wherever they are: a one-bit mask for each cell; and by cell and digit which tuples have
    it.
    """

    digits: Sequence[tuple[int, ...]]
    supports: Sequence[Sequence[int]]


@lru_cache(maxsize=1 << 9)
def _tuples(masks: tuple[int, ...], signs: tuple[int, ...], total: int | None, apart: _Apart) -> _Tuples | None:
    """The tuples of cells with these candidates that make a total; None where they are too many."""
    found: Sequence[tuple[int, ...]] | None
    if total is None:
        found = [(1 << index,) for index in members(masks[0])]
    else:
        found = _making(masks, signs, total, apart)
    if found is None:
        return None
    size = max(masks).bit_length()
    supports = [[0] * size for _ in masks]
    for number, digits in enumerate(found):
        for by_digit, bit in zip(supports, digits, strict=True):
            by_digit[bit.bit_length() - 1] |= 1 << number
    return _Tuples(found, supports)


def _making(
    masks: tuple[int, ...], signs: tuple[int, ...], total: int, apart: _Apart
) -> Sequence[tuple[int, ...]] | None:
    """The ways to make a total, as one-bit masks; None where they are too many."""
    if _is_cage(signs, apart):
        masks = supported(masks, total) or (0,) * len(masks)
    if prod(map(int.bit_count, masks)) > _MOST_CHOICES:
        return None
    return fillings(masks, total, _MOST_TUPLES, signs, apart)


def _is_cage(signs: tuple[int, ...], apart: _Apart) -> bool:
    """Whether cells are added up that all differ."""
    return -1 not in signs and all(len(before) == place for place, before in enumerate(apart))


class Compatibility(dict[int, int]):
    """For each tuple of one table, by its number, the tuples of another that go with it; worked out when asked
    for.

    `sight` tells for each cell of the one which cells of the other it sees.
    """

    def __init__(self, size: int, one: Table, other: Table, sight: Sequence[int]) -> None:
        super().__init__()
        self.size, self.one, self.other = size, one, other
        self.sight = dict(zip(one.cells, sight, strict=True))
        self.beside: dict[int, int] = {}

    def __missing__(self, number: int) -> int:
        compatible, digits, beside = self.other.every, self.one.tuples[number], self.beside
        while digits:
            digit = digits & -digits
            digits ^= digit
            known = beside.get(digit)
            compatible &= self._beside(digit) if known is None else known
        self[number] = compatible
        return compatible

    def _beside(self, digit: int) -> int:
        """The other's tuples that have no other digit in this cell, nor this digit in sight of it."""
        size = self.size
        cell, index = divmod(digit.bit_length() - 1, size)
        against = ((1 << size) - 1 << size * cell) ^ digit
        for seen in members(self.sight[cell]):
            against |= 1 << size * seen + index
        found = self.beside[digit] = self.other.every & ~self.other.tuples_with(against)
        return found


class Tables:
    """The constraints of a puzzle that have tables, and which tuples of two tables go together; each made once."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.size = frame.size
        self._sums: dict[_Sum, SumConstraint] = {}
        self._places: dict[int, list[Table]] = {}
        self._links: dict[tuple[object, ...], Compatibility] = {}

    def cage(self, number: int) -> SumConstraint:
        """Return a cage with a total."""
        cells = self.frame.cages[number]
        apart = tuple([tuple(range(place)) for place in range(len(cells))])
        return self._constraint(_Sum(cells, (), self.frame.totals[number], apart))

    def sum(self, plus: tuple[int, ...], minus: tuple[int, ...], total: int, sees: Sequence[int]) -> SumConstraint:
        """Return cells whose sum, or difference, is known; `sees` tells which of them differ."""
        cells = plus + minus
        apart = tuple([
            tuple([place for place in range(number) if sees[cell] >> cells[place] & 1])
            for number, cell in enumerate(cells)
        ])
        return self._constraint(_Sum(plus, minus, total, apart))

    def cell(self, number: int) -> Table:
        """Return a cell by itself, with any digit."""
        constraint = self._constraint(_Sum((number,), (), None, ((),)))
        table = constraint.table(constraint.mask)
        assert table is not None
        return table

    def _constraint(self, sum_: _Sum) -> SumConstraint:
        known = self._sums.get(sum_)
        if known is None:
            known = self._sums[sum_] = SumConstraint(self.size, sum_)
        return known

    def places(self, house: int) -> list[Table]:
        """Return for each digit a table of the places that a whole house has for it."""
        known = self._places.get(house)
        if known is None:
            cells = self.frame.houses[house]
            known = self._places[house] = []
            for index in range(self.size):
                tuples = [1 << self.size * cell + index for cell in cells]
                supports = {digit: 1 << number for number, digit in enumerate(tuples)}
                known.append(Table(cells, sum(tuples), sum(tuples), tuples, supports))
        return known

    def compatibility(self, one: Table, other: Table, sees: Sequence[int]) -> Compatibility | None:
        """Return which tuples of two tables go together; None where the tables have nothing to do with each other.

        Tuples go together that agree on the cells they share and give no digit twice to cells that see each other.
        """
        there = other.inside
        sight = [sees[cell] & there for cell in one.cells]
        if not any(sight) and not one.inside & there:
            return None
        key = one, other, *sight
        known = self._links.get(key)
        if known is None:
            known = self._links[key] = Compatibility(self.size, one, other, sight)
        return known


@lru_cache(maxsize=4)
def tables_of(frame: Frame) -> Tables:
    """Return the tables of a puzzle."""
    return Tables(frame)
