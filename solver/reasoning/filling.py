"""What open cells can hold when their digits must make a total: exact, by trying every filling.

Cells are given by their candidate masks (bit d - 1 stands for digit d). Nothing here knows a grid.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import accumulate
from operator import or_

from cagework.solver.bitset import members
from cagework.solver.combine import combinations_within
from cagework.solver.support import distinct, mirror, sets_held

_MOST_TRIES = 20_000
"""Digits that are tried for the least sum of cells of which some differ."""


@lru_cache(maxsize=1 << 16)
def fits(masks: tuple[int, ...], total: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return, for cells of distinct digits that add to `total`, what each can hold, and the combinations left.

    Both are empty of digits where there is no filling.
    """
    kept = supported(masks, total) if masks else ()
    if not kept:
        return (0,) * len(masks), ()
    union = union_of(kept)
    if union.bit_count() == len(kept):
        return kept, (union,)
    if len(kept) == 2:
        return kept, _couples(kept[0], total)
    combinations = combinations_within(union, len(kept), total)
    if kept.count(kept[0]) == len(kept):
        return kept, combinations
    held = sets_held(max(kept).bit_length(), kept)
    return kept, tuple([combination for combination in combinations if held >> combination & 1])


def _couples(digits: int, total: int) -> tuple[int, ...]:
    """Each of these digits with the one that makes the total, those with the least digits first."""
    couples = set()
    while digits:
        bit = digits & -digits
        digits ^= bit
        couples.add(bit | 1 << total - bit.bit_length() - 1)
    return tuple(sorted(couples, key=lambda couple: couple & -couple))


def supported(masks: tuple[int, ...], total: int) -> tuple[int, ...]:
    """Return what each cell can hold, as `fits` does; empty where there is no filling. There are cells."""
    if len(masks) > 2:
        return () if 0 in masks else distinct(max(masks).bit_length(), masks, total) or ()
    if len(masks) == 1:
        return (1 << total - 1,) if total > 0 and masks[0] >> total - 1 & 1 else ()
    first, second = masks
    size = max(first, second).bit_length()
    reverse, shift = mirror(size), total - size - 1     # their digits answer each other
    one = first & (reverse[second] << shift if shift >= 0 else reverse[second] >> -shift)
    if not total & 1:
        one &= ~(1 << (total >> 1) - 1) if total > 0 else 0
    return (one, reverse[one] << shift if shift >= 0 else reverse[one] >> -shift) if one else ()


def union_of(masks: Iterable[int]) -> int:
    """Return the digits that any of these masks holds."""
    union = 0
    for mask in masks:
        union |= mask
    return union


@lru_cache(maxsize=1 << 15)
def has_matching(masks: tuple[int, ...]) -> bool:
    """Whether cells can hold different digits of these masks."""
    if 0 in masks:
        return False
    tightest, *others = sorted(masks, key=int.bit_count)
    if all(mask.bit_count() > place for place, mask in enumerate(others, 1)):
        return True         # each has a digit left, whatever those before it took
    while tightest:
        bit = tightest & -tightest
        tightest ^= bit
        if has_matching(tuple([mask & ~bit for mask in others])):
            return True
    return False


def balances(
    parts: Sequence[tuple[int, tuple[int, ...]]], total: int, *others: int
) -> list[tuple[int, ...]]:
    """Return what each cell can hold where signed parts, each of distinct digits, add to `total`; or to one of
    `others`, which are greater and rise.

    `parts` are (1 or -1, masks). Cells of different parts may repeat a digit. All masks are 0 where no
    filling exists.
    """
    if len(parts) == 1 and not others:
        (sign, masks), = parts
        return [supported(masks, sign * total) or (0,) * len(masks)]
    tables = _tables(parts, total, others[-1] if others else total)
    ahead = [{0}]
    for table in tables:
        ahead.append({before + sum_ for before in ahead[-1] for sum_, _ in table})
    back = {total, *others} & ahead[-1]
    found: list[tuple[int, ...]] = []
    for number in range(len(parts) - 1, -1, -1):
        before = ahead[number]
        kept = [0] * len(parts[number][1])
        earlier = set()
        for sum_, held in tables[number]:
            starts = [after - sum_ for after in back if after - sum_ in before]
            if starts:
                earlier.update(starts)
                kept = list(map(or_, kept, held))
        back = earlier
        found.append(tuple(kept))
    return found[::-1]


def _tables(
    parts: Sequence[tuple[int, tuple[int, ...]]], total: int, largest: int
) -> list[list[tuple[int, tuple[int, ...]]]]:
    """For each part, (signed sum, what each cell can hold) for the sums that the ends of the others leave it."""
    ends = []
    for sign, masks in parts:
        union = union_of(masks)
        if union.bit_count() < len(masks):
            return [[] for _ in parts]
        least, most = distinct_range(union, len(masks))
        ends.append((least, most) if sign > 0 else (-most, -least))
    least, most = sum([low for low, _ in ends]), sum([high for _, high in ends])
    return [
        [(sum_, kept) for sum_ in range(max(low, total - most + high), min(high, largest - least + low) + 1)
         if (kept := supported(masks, sign * sum_))]
        for (sign, masks), (low, high) in zip(parts, ends, strict=True)
    ]


@lru_cache(maxsize=1 << 13)
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


@lru_cache(maxsize=1 << 13)
def distinct_ends(masks: tuple[int, ...]) -> tuple[int, int] | None:
    """Return the least and greatest sum of cells that hold different digits of these masks; None for no filling.

    The sets of digits that cells can hold at once are the independent sets of a matroid, so the least digits, each
    taken where it still goes, make the least sum (Edmonds, Mathematical Programming 1, 1971; from memory).
    """
    if len(masks) == 1:
        return ((masks[0] & -masks[0]).bit_length(), masks[0].bit_length()) if masks[0] else None
    digits = [1 << index for index in members(union_of(masks))]
    least, most = _taken(masks, digits), _taken(masks, digits[::-1])
    return (least, most) if least and most else (None if masks else (0, 0))


def _taken(masks: Sequence[int], digits: Iterable[int]) -> int:
    """The sum of the first of these digits that cells can hold, one each; 0 where some cell is left without."""
    held = [0] * len(masks)

    def goes(bit: int, tried: set[int]) -> bool:
        """Whether a digit finds a cell, as others make room for it."""
        for cell, mask in enumerate(masks):
            if mask & bit and cell not in tried:
                tried.add(cell)
                if not held[cell] or goes(held[cell], tried):
                    held[cell] = bit
                    return True
        return False

    found = [bit.bit_length() for bit in digits if goes(bit, set())]
    return sum(found) if len(found) == len(masks) else 0


def ends_apart(masks: Sequence[int], apart: Sequence[Sequence[int]]) -> tuple[int, int] | None:
    """Return the least and greatest sum of cells; `apart` lists for each those before it that it differs from.

    None where there is no filling, or that takes too long to see.
    """
    size = max(masks).bit_length()
    turned = [sum([1 << size - 1 - index for index in members(mask)]) for mask in masks]
    least, greatest = _least_apart(masks, apart), _least_apart(turned, apart)
    return (least, len(masks) * (size + 1) - greatest) if least and greatest else None


def _least_apart(masks: Sequence[int], apart: Sequence[Sequence[int]]) -> int:
    """The least sum, by branch and bound; 0 for none."""
    rest = [*accumulate([(mask & -mask).bit_length() for mask in reversed(masks)], initial=0)][::-1]
    best, tries = 0, 0

    def place(held: tuple[int, ...], made: int) -> None:
        """Fill the cells from here on."""
        nonlocal best, tries
        number = len(held)
        if number == len(masks):
            best = made
            return
        options = masks[number]
        for before in apart[number]:
            options &= ~held[before]
        for index in members(options):
            tries += 1
            further = made + index + 1
            if tries > _MOST_TRIES or (best and further + rest[number + 1] >= best):
                return
            place((*held, 1 << index), further)

    place((), 0)
    return best if tries <= _MOST_TRIES else 0


def fillings(
    masks: Sequence[int], total: int, most: int, signs: Sequence[int], apart: Sequence[Iterable[int]]
) -> list[tuple[int, ...]] | None:
    """Return the ways to fill cells so that their digits, each with its sign, make a total, one bit for each cell.

    `signs` are 1 or -1; `apart` lists for each cell those before it that it differs from. None where there are
    more ways than `most`. There are cells.
    """
    found: list[tuple[int, ...]] = []
    if 0 in masks:
        return found
    ends = [sorted((sign * (mask & -mask).bit_length(), sign * mask.bit_length()))
            for mask, sign in zip(masks, signs, strict=True)]
    least, most_left = ([*accumulate([end[which] for end in reversed(ends)], initial=0)][::-1] for which in (0, 1))
    last = len(masks) - 1

    def place(held: tuple[int, ...], rest: int) -> bool:
        """Fill the cells from here on; whether the ways so far are not too many."""
        number = len(held)
        sign, options = signs[number], masks[number]
        for before in apart[number]:
            options &= ~held[before]
        if number == last:
            digit = rest * sign
            if digit > 0 and options >> digit - 1 & 1:
                found.append((*held, 1 << digit - 1))
            return len(found) <= most
        low, high = least[number + 1], most_left[number + 1]
        while options:
            bit = options & -options
            options ^= bit
            left = rest - sign * bit.bit_length()
            if low <= left <= high and not place((*held, bit), left):
                return False
        return True

    return found if place((), total) else None
