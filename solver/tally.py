"""Plain counting for the proof: sums of digits, and the digits that sets of a total use."""

from __future__ import annotations

from functools import lru_cache


@lru_cache(maxsize=1 << 13)
def ends(digits: int, count: int) -> tuple[int, int]:
    """The sums of the `count` least and of the `count` greatest digits of a mask."""
    values = [digit for digit in range(1, digits.bit_length() + 1) if digits >> digit - 1 & 1]
    return sum(values[:count]), sum(values[len(values) - count:])


@lru_cache(maxsize=1 << 14)
def sets(digits: int, count: int, total: int) -> tuple[int, int]:
    """The digits in some, and in every, set of `count` out of a mask that makes a total; (-1, -1) for no set."""
    if count == 0:
        return (0, 0) if total == 0 else (-1, -1)
    some, every = 0, -1
    rest = digits
    while rest:
        bit = rest & -rest
        rest ^= bit
        if bit.bit_length() * count > total:
            break
        below, both = sets(rest, count - 1, total - bit.bit_length())
        if below >= 0:
            some |= bit | below
            every &= bit | both
    return (some, every) if some else (-1, -1)
