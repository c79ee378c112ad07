"""Combinations: the sets of distinct digits that make a total, as bit masks (bit d - 1 is digit d)."""

from __future__ import annotations

from functools import lru_cache

from cagework.solver.errors import PuzzleError


def sum_range(size: int, count: int, first: int = 1) -> tuple[int, int]:
    """Return the least and greatest total of `count` distinct digits, of `size` from `first` on.

    Raises PuzzleError where there are no such digits.
    """
    if not 0 <= count <= size:
        raise PuzzleError(f"there are no {count} distinct digits from {first} to {first + size - 1}")
    more = count * (first - 1)
    return more + count * (count + 1) // 2, more + count * (2 * size - count + 1) // 2


def mask_of(digits: tuple[int, ...]) -> int:
    """Return the mask that holds exactly these digits."""
    mask = 0
    for digit in digits:
        mask |= 1 << digit - 1
    return mask


def digits_of(mask: int) -> tuple[int, ...]:
    """Return the digits of a mask, least first."""
    digits = []
    while mask:
        low = mask & -mask
        digits.append(low.bit_length())
        mask ^= low
    return tuple(digits)


@lru_cache(maxsize=4096)
def combinations(size: int, count: int, total: int) -> tuple[int, ...]:
    """Return every set of `count` distinct digits from 1..size that adds to `total`, as masks.

    They stand in the order of their digits: 1 and 4 before 2 and 3. Empty where there are none.
    """
    return combinations_within((1 << size) - 1, count, total)


@lru_cache(maxsize=1 << 14)
def combinations_within(digits: int, count: int, total: int) -> tuple[int, ...]:
    """Return every set of `count` digits out of the mask `digits` that adds to `total`, as masks."""
    found: list[int] = []
    choices = digits_of(digits)

    def extend(start: int, chosen: int, count: int, total: int) -> None:
        """Add `count` digits from `start` on; the last is what is left of the total."""
        if count == 2:
            for digit in choices[start:]:
                last = total - digit
                if last <= digit:
                    break
                if digits >> last - 1 & 1:
                    found.append(chosen | 1 << digit - 1 | 1 << last - 1)
            return
        for index in range(start, len(choices) - count + 1):
            digit = choices[index]
            # The rest are greater: too much already means every later choice is too much as well.
            if count * digit + count * (count - 1) // 2 > total:
                break
            extend(index + 1, chosen | 1 << digit - 1, count - 1, total - digit)

    if count > 1:
        extend(0, 0, count, total)
    elif count == 1:
        if total > 0 and digits >> total - 1 & 1:
            found.append(1 << total - 1)
    elif count == total == 0:
        found.append(0)
    return tuple(found)
