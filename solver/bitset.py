"""Sets of small numbers, such as cells or digits, as the bits of an int: bit n stands for the number n."""

from __future__ import annotations

from collections.abc import Iterable
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
