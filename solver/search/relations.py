"""The propagators of pairs of cells whose digits bind each other, cell by cell or all over the grid at once."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import lru_cache

from cagework.solver.search.fields import Fields
from cagework.solver.search.ground import Ground, Relations
from cagework.solver.search.propagators import Fact, Propagator

_MANY = 8
"""Pairs of one relation from which all are looked at together (measured)."""


def relations(shape: Fields, known: Relations) -> list[Fact]:
    """What pairs say, in as few facts as it takes."""
    apart: dict[tuple[int, ...], list[tuple[int, int]]] = {}
    for cell, others in known.items():
        for other, forbidden in others:
            apart.setdefault(forbidden, []).append((cell, other))
    facts: list[Fact] = []
    few: Relations = {}
    for forbidden, pairs in apart.items():
        # A cell stands there once for each pair: one in many is a good one to choose.
        firsts = tuple([cell for cell, _ in pairs])
        if len(pairs) < _MANY:
            for cell, other in pairs:
                few.setdefault(cell, []).append((other, forbidden))
        else:
            facts.append((shape.of({*firsts}), {}, everywhere(shape, forbidden, pairs), firsts))
    for cell, others in few.items():
        facts.append((shape.of((cell,)), {}, relation(shape, cell, others), (cell,) * len(others)))
    return facts


def everywhere(shape: Fields, forbidden: tuple[int, ...], pairs: Sequence[tuple[int, int]]) -> Propagator:
    """As `relation`, for pairs of cells of which the digits of the first all forbid the second the same.

    Digit by digit, what it allows is put into every cell that has it. The grid shifted over itself brings that to
    the second cells, all at once for those that lie alike.
    """
    full, low = (1 << shape.size) - 1, shape.low
    allowed = [(digit, full & ~bits) for digit, bits in enumerate(forbidden) if full & ~bits]
    lie: dict[int, list[int]] = {}
    for cell, other in pairs:
        lie.setdefault((other - cell) * shape.width, []).append(other)
    shifts = [(distance, shape.of(others)) for distance, others in lie.items()]

    def lost(grid: int) -> int:
        partners = 0
        for digit, bits in allowed:
            partners |= (grid >> digit & low) * bits
        gone = 0
        for distance, others in shifts:
            gone |= others & ~(partners << distance if distance > 0 else partners >> -distance)
        return gone

    return lost


def relation(
    shape: Fields, cell: int, others: Sequence[tuple[int, tuple[int, ...]]]
) -> Propagator:
    """What all digits of a cell forbid leaves the other cells of its pairs; `others` as in `Relations`."""
    place = cell * shape.width
    full = (1 << shape.size) - 1

    def lost(grid: int) -> int:
        mask = grid >> place & full
        gone = 0
        for other, forbidden in others:
            gone |= _forbidden_by_all(forbidden, mask) << other * shape.width
        return gone

    return lost


@lru_cache(maxsize=1 << 12)
def _forbidden_by_all(forbidden: tuple[int, ...], mask: int) -> int:
    """What each digit of a mask forbids."""
    common = -1
    for digit, bits in enumerate(forbidden):
        if mask >> digit & 1:
            common &= bits
    return common


def in_common(base: Ground) -> Relations:
    """What two pairs with a cell in common say of their other cells where these see each other: of three cells in
    a row that hold consecutive digits the first and the last are two apart.
    """
    lowest, found = base.fields.lowest, Relations()
    for others in base.relations.values():
        for (one, to_one), (two, to_two) in itertools.combinations(others, 2):
            if base.seen[one] & lowest[two]:
                forbidden = _through(to_one, to_two)
                if forbidden:
                    found.setdefault(one, []).append((two, forbidden))
                    found.setdefault(two, []).append((one, _through(to_two, to_one)))
    return found


@lru_cache(maxsize=1 << 10)
def _through(to_one: tuple[int, ...], to_two: tuple[int, ...]) -> tuple[int, ...]:
    """What each digit of the first of two different cells forbids the second, by a third one's digits, which
    forbid `to_one` and `to_two`. Empty where that is no more than what is known without: that they are different,
    or what each is told by the third one.
    """
    size = len(to_one)
    full, digits = (1 << size) - 1, range(size)
    allowed = [0] * size
    for one, two in zip(to_one, to_two, strict=True):
        for digit in digits:
            if not one >> digit & 1:
                allowed[digit] |= full & ~two
    forbidden = tuple([full & ~allowed[digit] | 1 << digit for digit in digits])
    if all(forbidden[digit] == 1 << digit for digit in digits):
        return ()
    return forbidden if any(allowed[digit] >> digit & 1 for digit in digits) else ()
