"""How the digits of one house can be shared out among the cages that reach into it.

Each cage, or part of a cage, takes a set of digits; the sets must use up the house's digits exactly. All
ways to do so are followed at once, over the sets of digits used so far: bit m of an int for the set with mask m.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from operator import or_

from cagework.solver.bitset import members
from cagework.solver.combine import combinations_within, digits_of
from cagework.solver.reasoning.filling import distinct_range, has_matching, supported

MOST_SETS = 40
"""A part with more possible sets than this is taken as free: no reader would list them."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """Open cells of a house that take a set of digits out of `sets`; all sets where that is None."""

    cells: tuple[int, ...]
    sets: tuple[int, ...] | None


def parcels_of(
    house: Iterable[int], cages: Iterable[tuple[Sequence[int], int | None]], masks: Sequence[int]
) -> list[Parcel]:
    """Cut the open cells of a house by cage; cells in none of these cages are parts by themselves.

    `masks` hold every cell's candidates; a cell with one candidate counts as filled.
    """
    open_ = {cell for cell in house if masks[cell] & masks[cell] - 1}
    parts = []
    for cells, total in cages:
        inside = tuple([cell for cell in cells if cell in open_])
        if not inside or total is None:
            continue
        rest, outside = total, []
        for cell in cells:
            if not masks[cell] & masks[cell] - 1:
                rest -= masks[cell].bit_length()
            elif cell not in open_:
                outside.append(masks[cell])
        sets = _sets(tuple([masks[cell] for cell in inside]), tuple(outside), rest)
        if len(sets) <= MOST_SETS:
            parts.append(Parcel(inside, sets))
            open_.difference_update(inside)
    return parts + [Parcel((cell,), None) for cell in sorted(open_)]


def shared_out(parts: Sequence[Parcel], digits: int, masks: Sequence[int]) -> dict[int, int]:
    """Return what each cell can hold when the parts use up `digits` between them; empty where they cannot."""
    if not parts:
        return {}
    size = digits.bit_length()
    choices = [
        _apart(part.sets, size) if part.sets is not None else _each_apart(digits & masks[part.cells[0]], size)
        for part in parts
    ]
    order = sorted(range(len(parts)), key=lambda number: len(choices[number]))
    ahead = [1]
    for number in order[:-1]:       # the widest choice comes last: what it has to take is known
        reached = 0
        for chosen, apart in choices[number]:
            reached |= (ahead[-1] & apart) << chosen
        ahead.append(reached)
    held = {}
    back = 1 << digits
    for number, before in zip(reversed(order), reversed(ahead), strict=True):
        kept, earlier = [], 0
        for chosen, apart in choices[number]:
            starts = back >> chosen & before & apart
            if starts:
                kept.append(chosen)
                earlier |= starts
        if not kept:
            return {}
        back = earlier
        held[number] = _seats(tuple([masks[cell] for cell in parts[number].cells]), tuple(kept))
    return {
        cell: mask for number in range(len(parts) - 1, -1, -1)
        for cell, mask in zip(parts[number].cells, held[number], strict=True)
    }


@lru_cache(maxsize=1 << 12)
def _apart(sets: tuple[int, ...], size: int) -> tuple[tuple[int, int], ...]:
    """Each set, with all sets of digits up to `size` that share none with it, as bits: bit m for the mask m."""
    return tuple([(chosen, _disjoint(chosen, size)) for chosen in sets])


@lru_cache(maxsize=1 << 10)
def _each_apart(digits: int, size: int) -> tuple[tuple[int, int], ...]:
    """The same of each digit by itself."""
    return _apart(tuple([1 << index for index in members(digits)]), size)


@lru_cache(maxsize=1 << 11)
def _disjoint(chosen: int, size: int) -> int:
    apart = 1
    for i in range(size):
        if not chosen >> i & 1:
            apart |= apart << (1 << i)
    return apart


@lru_cache(maxsize=1 << 13)
def _sets(inside: tuple[int, ...], outside: tuple[int, ...], total: int) -> tuple[int, ...]:
    """The sets of digits that the inside cells of a cage can take and the outside ones complete."""
    union = 0
    for mask in inside:
        union |= mask
    count = len(inside)
    if not outside:
        sets: Iterable[int] = combinations_within(union, count, total)
    else:
        beyond = 0
        for mask in outside:
            beyond |= mask
        sets = [
            chosen for bits in combinations([1 << i for i in members(union)], count)
            if _completes(beyond & ~(chosen := sum(bits)), len(outside), total - _sum(chosen))
        ]
    return tuple([chosen for chosen in sets if has_matching(tuple([mask & chosen for mask in inside]))])


def _completes(digits: int, count: int, total: int) -> bool:
    """Whether `count` of these digits can come to the total, judged by their least and greatest."""
    if digits.bit_count() < count:
        return False
    least, most = distinct_range(digits, count)
    return least <= total <= most


@lru_cache(maxsize=1 << 10)
def _sum(digits: int) -> int:
    return sum(digits_of(digits))


@lru_cache(maxsize=1 << 13)
def _seats(masks: tuple[int, ...], sets: tuple[int, ...]) -> tuple[int, ...]:
    """What each cell can hold when together they hold exactly one of the sets."""
    kept = [0] * len(masks)
    for chosen in sets:
        fitting = tuple([mask & chosen for mask in masks])
        kept = list(map(or_, kept, supported(fitting, _sum(chosen)) if len(masks) > 1 else fitting))
    return tuple(kept)
