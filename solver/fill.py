"""What open cells can hold when their digits must make a total: exact, by trying every filling.

Cells are given by their candidate masks (bit d - 1 stands for digit d). Nothing here knows a grid.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from cagework.solver.combine import combinations_within


@lru_cache(maxsize=1 << 16)
def fits(masks: tuple[int, ...], total: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return, for cells of distinct digits that add to `total`, what each can hold, and the combinations left.

    Both are empty of digits where there is no filling.
    """
    if len(masks) == 2:
        return _two(masks[0], masks[1], total)
    union = 0
    for mask in masks:
        union |= mask
    kept = [0] * len(masks)
    left = []
    for combination in combinations_within(union, len(masks), total):
        narrowed = [mask & combination for mask in masks]
        if 0 not in narrowed and _fill(narrowed, combination, kept):
            left.append(combination)
    return tuple(kept), tuple(left)


def _two(first: int, second: int, total: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """`fits` for the commonest case."""
    one = other = 0
    left = set()
    rest = first
    while rest:
        bit = rest & -rest
        rest ^= bit
        digit = total - bit.bit_length()
        if digit > 0:
            partner = 1 << digit - 1
            if second & partner and partner != bit:
                one |= bit
                other |= partner
                left.add(bit | partner)
    return (one, other), tuple(sorted(left, key=lambda pair: pair & -pair))


def _fill(masks: list[int], combination: int, kept: list[int]) -> bool:
    """Add to `kept` all that the cells hold in any filling with exactly this combination."""
    order = sorted(range(len(masks)), key=lambda i: masks[i].bit_count())
    if masks[order[0]] == combination:
        for cell in order:
            kept[cell] |= combination
        return True
    last = len(order) - 1

    def place(depth: int, free: int) -> bool:
        cell = order[depth]
        options = masks[cell] & free
        if depth == last:
            kept[cell] |= options
            return options != 0
        fitted = False
        while options:
            bit = options & -options
            options ^= bit
            if place(depth + 1, free ^ bit):
                kept[cell] |= bit
                fitted = True
        return fitted

    return place(0, combination)


@lru_cache(maxsize=1 << 14)
def by_total(masks: tuple[int, ...]) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """Return (total, what each cell can hold) for every total that cells of distinct digits can make."""
    union = 0
    for mask in masks:
        union |= mask
    if union.bit_count() < len(masks):
        return ()
    if len(masks) == 1:
        return tuple([(i + 1, (1 << i,)) for i in range(union.bit_length()) if union >> i & 1])
    least, most = distinct_range(union, len(masks))
    found = []
    for total in range(least, most + 1):
        kept, left = fits(masks, total)
        if left:
            found.append((total, kept))
    return tuple(found)


def balances(parts: Sequence[tuple[int, tuple[int, ...]]], total: int) -> list[tuple[int, ...]]:
    """Return what each cell can hold where signed parts, each of distinct digits, add to `total`.

    `parts` are (1 or -1, masks). Cells of different parts may repeat a digit. All masks are 0 where no
    filling exists.
    """
    tables = [[(sign * sum_, kept) for sum_, kept in by_total(masks)] for sign, masks in parts]
    ahead = [{0}]
    for table in tables:
        ahead.append({before + sum_ for before in ahead[-1] for sum_, _ in table})
    back = {total} & ahead[-1]
    found: list[tuple[int, ...]] = []
    for number in range(len(parts) - 1, -1, -1):
        before = ahead[number]
        reach = [0] * len(parts[number][1])
        earlier = set()
        for sum_, kept in tables[number]:
            starts = [after - sum_ for after in back if after - sum_ in before]
            if starts:
                earlier.update(starts)
                reach = [mask | more for mask, more in zip(reach, kept, strict=True)]
        back = earlier
        found.append(tuple(reach))
    return found[::-1]


def distinct_range(union: int, count: int) -> tuple[int, int]:
    """Return the least and greatest sum of `count` distinct digits out of a mask.

    Raises ValueError where it holds fewer.
    """
    if union.bit_count() < count:
        raise ValueError(f"fewer than {count} digits to choose from")
    least = most = 0
    rest = union
    for _ in range(count):
        bit = rest & -rest
        least += bit.bit_length()
        rest ^= bit
    rest = union
    for _ in range(count):
        top = rest.bit_length()
        most += top
        rest ^= 1 << top - 1
    return least, most


@lru_cache(maxsize=1 << 12)
def fillings(masks: tuple[int, ...], total: int, most: int) -> tuple[tuple[int, ...], ...]:
    """Return the ways to fill cells with distinct digits that make a total, one bit for each cell.

    Empty where there are more than `most`, or none.
    """
    found: list[tuple[int, ...]] = []

    def place(held: tuple[int, ...], used: int, rest: int) -> bool:
        number = len(held)
        if number == len(masks):
            if rest == 0:
                found.append(held)
            return len(found) <= most
        options = masks[number] & ~used
        while options:
            bit = options & -options
            options ^= bit
            if bit.bit_length() <= rest and not place((*held, bit), used | bit, rest - bit.bit_length()):
                return False
        return True

    return tuple(found) if place((), 0, total) else ()
