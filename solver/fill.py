"""What open cells can hold when their digits must make a total: exact, by trying every filling.

Cells are given by their candidate masks (bit d - 1 stands for digit d). Nothing here knows a grid.
"""

from __future__ import annotations

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
def balances(
    plus: tuple[int, ...], minus: tuple[int, ...], apart: tuple[int, ...], total: int
) -> tuple[int, ...]:
    """Return what each cell can hold where the sum of `plus` less the sum of `minus` is `total`.

    `apart` tells, for each cell in that order, which earlier cells must differ from it, as a mask of
    positions. Cells not told apart may repeat a digit.
    """
    masks = plus + minus
    count = len(masks)
    signs = [1] * len(plus) + [-1] * len(minus)
    least = [0] * (count + 1)
    most = [0] * (count + 1)
    for i in range(count - 1, -1, -1):
        low, high = (masks[i] & -masks[i]).bit_length(), masks[i].bit_length()
        if signs[i] < 0:
            low, high = -high, -low
        least[i] = least[i + 1] + low
        most[i] = most[i + 1] + high
    kept = [0] * count
    held = [0] * count

    def place(i: int, rest: int) -> bool:
        if i == count:
            return rest == 0
        if not least[i] <= rest <= most[i]:
            return False
        options = masks[i]
        for j in range(i):
            if apart[i] >> j & 1:
                options &= ~held[j]
        fitted = False
        while options:
            bit = options & -options
            options ^= bit
            held[i] = bit
            if place(i + 1, rest - signs[i] * bit.bit_length()):
                kept[i] |= bit
                fitted = True
        return fitted

    place(0, total)
    return tuple(kept)


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
