"""Sets of small numbers, such as cells or digits, as the bits of an int: bit n stands for the number n."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache


def set_of(numbers: Iterable[int]) -> int:
    """Return the set of these numbers as bits."""
    bits = 0
    for number in numbers:
        bits |= 1 << number
    return bits


@lru_cache(maxsize=1 << 14)
def members(bits: int) -> tuple[int, ...]:
    """Return the numbers in a set of bits, least first."""
    numbers = []
    while bits:
        low = bits & -bits
        numbers.append(low.bit_length() - 1)
        bits ^= low
    return tuple(numbers)


def with_one_open(sets: Sequence[int], numbers: int, open_: int) -> int:
    """Return those of these numbers whose set has just one member that is open, all as bits."""
    found = 0
    while numbers:
        low = numbers & -numbers
        numbers ^= low
        left = sets[low.bit_length() - 1] & open_
        if left and not left & left - 1:
            found |= low
    return found
