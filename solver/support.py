"""Which digits each cell of a sum can hold, given the masks of the others: exact, and cached.

A mask has bit d - 1 for digit d. `mirror(size)[mask]` swaps each digit d for size + 1 - d, so the partners
of a mask's digits in a two-cell total are its mirror image shifted: one operation for all digits at once.
The caches are bounded; they hold results only, never state.
"""

from __future__ import annotations

from functools import lru_cache

from cagework.solver.combine import combinations

Masks = tuple[int, ...]

_FEW = 8
"""Cells of a sum up to which it costs more to remember what could not be filled than to try it again."""


@lru_cache(maxsize=16)
def mirror(size: int) -> Masks:
    """Return the table mask -> the same mask read from the greatest digit down."""
    top = 1 << size - 1
    table = [0] * (1 << size)
    for mask in range(1, 1 << size):
        table[mask] = table[mask >> 1] >> 1 | (top if mask & 1 else 0)
    return tuple(table)


@lru_cache(maxsize=1 << 16)
def distinct(size: int, masks: Masks, total: int) -> Masks | None:
    """Return the digits of each of three or more cells that occur in a filling with distinct digits.

    None where there is no filling.
    """
    if len(masks) == 3:
        kept = _three(size, masks, total)
    elif len(masks) == 4:
        kept = _four(size, masks, total)
    else:
        kept = _many(size, masks, total)
    return kept if kept[0] else None


@lru_cache(maxsize=1 << 14)
def free_three(size: int, masks: Masks, total: int) -> Masks | None:
    """Return the digits of each of three cells that occur in a filling where digits may repeat.

    None where there is no filling.
    """
    reverse = mirror(size)
    first, second, third = masks
    kept_first = kept_second = kept_third = 0
    reversed_third = reverse[third]
    while first:
        bit = first & -first
        first ^= bit
        shift = total - bit.bit_length() - size - 1
        fits = second & (reversed_third << shift if shift >= 0 else reversed_third >> -shift)
        if fits:
            kept_first |= bit
            kept_second |= fits
            partners = reverse[fits]
            kept_third |= partners << shift if shift >= 0 else partners >> -shift
    kept_third &= third
    return (kept_first, kept_second, kept_third) if kept_first else None


@lru_cache(maxsize=1 << 14)
def needed(size: int, union: int, count: int, total: int) -> int:
    """Return the digits that every combination out of `union` has in common."""
    common = union
    for combination in combinations(size, count, total):
        if not combination & ~union:
            common &= combination
    return common


def _three(size: int, masks: Masks, total: int) -> Masks:
    """Go through the digits of one cell; the other two then answer each other by mirror and shift."""
    reverse = mirror(size)
    first, second, third = masks
    kept_first = kept_second = kept_third = 0
    while first:
        bit = first & -first
        first ^= bit
        rest = total - bit.bit_length()
        shift = rest - size - 1
        partners = reverse[third & ~bit]
        fits = second & ~bit & (partners << shift if shift >= 0 else partners >> -shift)
        if fits and not rest & 1:
            fits &= ~(1 << (rest >> 1) - 1)
        if fits:
            kept_first |= bit
            kept_second |= fits
            partners = reverse[fits]
            kept_third |= partners << shift if shift >= 0 else partners >> -shift
    return kept_first, kept_second, kept_third & third


def _four(size: int, masks: Masks, total: int) -> Masks:
    """As for three, going through the digits of the two tightest cells; stop once all is supported."""
    reverse = mirror(size)
    order = sorted(range(4), key=lambda index: masks[index].bit_count())
    first, second, third, fourth = (masks[index] for index in order)
    full = (1 << size) - 1
    kept_first = kept_second = kept_third = kept_fourth = 0
    open_first = first
    while open_first:
        bit = open_first & -open_first
        open_first ^= bit
        left = total - bit.bit_length()
        open_second = second & ~bit
        while open_second:
            other = open_second & -open_second
            open_second ^= other
            rest = left - other.bit_length()
            shift = rest - size - 1
            unused = ~(bit | other)
            partners = reverse[fourth & unused]
            fits = third & unused & (partners << shift if shift >= 0 else partners >> -shift)
            if fits and not rest & 1:
                fits &= ~(1 << (rest >> 1) - 1)
            if fits:
                kept_first |= bit
                kept_second |= other
                kept_third |= fits
                partners = reverse[fits]
                kept_fourth |= partners << shift if shift >= 0 else partners >> -shift
        if kept_third == third and kept_second == second and kept_first == first and (
            kept_fourth & full == fourth
        ):
            break
    kept = [0] * 4
    for index, mask in zip(order, (kept_first, kept_second, kept_third, kept_fourth & full), strict=True):
        kept[index] = mask
    return tuple(kept)


def _many(size: int, masks: Masks, total: int) -> Masks:
    """Go through the combinations; each digit not yet supported in its cell looks for one filling."""
    union = 0
    for mask in masks:
        union |= mask
    possible = [each for each in combinations(size, len(masks), total) if not each & ~union]
    if masks.count(union) == len(masks):
        held = 0
        for combination in possible:
            held |= combination
        return (held,) * len(masks)
    order = sorted(range(len(masks)), key=lambda index: masks[index].bit_count())
    cells = [masks[index] for index in order]
    kept = [0] * len(masks)
    for combination in possible:
        if kept == cells:
            break
        fitting = [mask & combination for mask in cells]
        if 0 in fitting:
            continue
        for fixed, mask in enumerate(fitting):
            wanted = mask & ~kept[fixed]
            failed: set[tuple[int, int]] | None = set() if len(masks) > _FEW else None
            while wanted:
                bit = wanted & -wanted
                wanted ^= bit
                if _fill(fitting, kept, fixed, 0, combination ^ bit, failed):
                    kept[fixed] |= bit
    result = [0] * len(masks)
    for index, mask in zip(order, kept, strict=True):
        result[index] = mask
    return tuple(result)


def _fill(
    cells: list[int], kept: list[int], fixed: int, depth: int, left: int, failed: set[tuple[int, int]] | None,
) -> bool:
    """Whether the cells from `depth` on, without `fixed`, can take the digits `left`; marks them if so.

    `failed` remembers what could not be done, so that no part of a tight cage of many cells is tried twice.
    """
    if depth == fixed:
        depth += 1
    if depth >= len(cells):
        return True
    if failed is not None and (depth, left) in failed:
        return False
    choices = cells[depth] & left
    while choices:
        bit = choices & -choices
        if _fill(cells, kept, fixed, depth + 1, left ^ bit, failed):
            kept[depth] |= bit
            return True
        choices ^= bit
    if failed is not None:
        failed.add((depth, left))
    return False
