"""Plain counting for the proof: sums of digits, and the digits that sets of a total use."""

from __future__ import annotations

from functools import lru_cache, reduce
from math import prod
from operator import or_

_MOST_CHOICES = 2_000
"""Cells whose digits can be put together in more ways are not gone through one by one."""


@lru_cache(maxsize=1 << 13)
def ends(digits: int, count: int) -> tuple[int, int]:
    """The sums of the `count` least and of the `count` greatest digits of a mask."""
    values = [digit for digit in range(1, digits.bit_length() + 1) if digits >> digit - 1 & 1]
    return sum(values[:count]), sum(values[len(values) - count:])


@lru_cache(maxsize=1 << 14)
def used(digits: int, count: int, total: int) -> int:
    """The digits in some set of `count` out of a mask that makes a total; -1 for no set."""
    if count == 0:
        return 0 if total == 0 else -1
    some = 0
    rest = digits
    while rest:
        bit = rest & -rest
        rest ^= bit
        if bit.bit_length() * count > total:
            break
        below = used(rest, count - 1, total - bit.bit_length())
        if below >= 0:
            some |= bit | below
    return some or -1


@lru_cache(maxsize=1 << 15)
def held(masks: tuple[int, ...], total: int) -> tuple[int, ...]:
    """What cells hold in the ways to make a total of different digits of these masks; empty where there is none.

    Of cells with very many choices only the sets of digits are looked at, so that more may seem possible than is.
    """
    if 0 in masks:
        return ()
    some = used(reduce(or_, masks), len(masks), total)
    if some < 0:
        return ()
    if len(masks) == 1 or prod(map(int.bit_count, masks)) > _MOST_CHOICES:
        return tuple([mask & some for mask in masks])
    kept = [0] * len(masks)
    first, *others = masks
    for index in range(first.bit_length()):
        bit = 1 << index
        if first & some & bit:
            below = held(tuple([mask & ~bit for mask in others]), total - index - 1)
            if below:
                kept = list(map(or_, kept, (bit, *below)))
    return tuple(kept) if kept[0] else ()
