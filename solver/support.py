"""Which digits each cell of a sum can hold, given the masks of the others: exact (but see `Fillings`), and cached.

A mask has bit d - 1 for digit d. `mirror(size)[mask]` swaps each digit d for size + 1 - d, so the partners
of a mask's digits in a two-cell total are its mirror image shifted: one operation for all digits at once.
The caches and tables are bounded; they hold results only, never state.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from cagework.solver.combine import combinations

Masks = tuple[int, ...]

_REMEMBERED = 1 << 14
"""Results kept in one table: a long search must not fill the memory."""


@lru_cache(maxsize=16)
def mirror(size: int) -> Masks:
    """Return the table mask -> the same mask read from the greatest digit down."""
    table = [0]
    for digit in range(size):
        mirrored = 1 << size - 1 - digit
        table += [mask | mirrored for mask in table]
    return tuple(table)


class Fillings(dict[int, tuple[int, int]]):
    """What cells that make a sum of distinct digits keep, and the digits that are sure to be among them.

    The masks of the cells are packed into one int, the first lowest, and so is what they keep: 0 where there is no
    filling. Exact for three cells; more keep what is in a combination of their digits of which each can take one:
    to rule out all that can be would cost more than the choices it saves (measured). A result is found when it is
    asked for.
    """

    __slots__ = ("copies", "count", "size", "total")

    def __init__(self, size: int, count: int, total: int) -> None:
        """`count` cells, three or more, that make `total`."""
        super().__init__()
        self.size, self.count, self.total = size, count, total
        self.copies = sum([1 << place for place in range(0, count * size, size)])

    def __missing__(self, packed: int) -> tuple[int, int]:
        """Find and keep it."""
        if len(self) >= _REMEMBERED:
            self.clear()
        found = self[packed] = self._three(packed) if self.count == 3 else self._more(packed)
        return found

    def _three(self, packed: int) -> tuple[int, int]:
        size, full = self.size, (1 << self.size) - 1
        one, two, three = _three(size, (packed & full, packed >> size & full, packed >> 2 * size), self.total)
        union = one | two | three
        common = union if union.bit_count() == 3 else needed(size, union, 3, self.total)
        return one | two << size | three << 2 * size, common

    def _more(self, packed: int) -> tuple[int, int]:
        size, count, full = self.size, self.count, (1 << self.size) - 1
        masks = [packed >> place & full for place in range(0, count * size, size)]
        lacking = full
        for mask in masks:
            lacking &= ~mask
        held, common = 0, full
        for combination in combinations(size, count, self.total):
            if not combination & lacking:
                for mask in masks:
                    if not combination & mask:
                        break
                else:
                    held |= combination
                    common &= combination
        return packed & held * self.copies, common if held else 0


@lru_cache(maxsize=128)
def fillings(size: int, count: int, total: int) -> Fillings:
    """The table of a sum of so many cells, which is shared by all such sums."""
    return Fillings(size, count, total)


@lru_cache(maxsize=1 << 16)
def distinct(size: int, masks: Masks, total: int) -> Masks | None:
    """As `supported`, and kept."""
    return supported(size, masks, total)


def supported(size: int, masks: Masks, total: int) -> Masks | None:
    """Return the digits of each of three or more cells that occur in a filling with distinct digits.

    None where there is no filling.
    """
    if len(masks) == 3:
        kept = _three(size, masks, total)
    elif masks.count(masks[0]) == len(masks):
        # Whatever a combination holds can be in any cell.
        held = 0
        for combination in combinations(size, len(masks), total):
            if not combination & ~masks[0]:
                held |= combination
        kept = (held,) * len(masks)
    elif len(masks) == 4:
        kept = _four(size, masks, total)
    else:
        kept = _many(size, masks, total)
    return kept if kept[0] else None


Unlike = tuple[bool, bool, bool]
"""Of three cells, whether the first and the second differ, the first and the third, the second and the third."""


class FreeThree(dict[int, int]):
    """As `Fillings`, for three cells of which only some differ; nothing is sure to be among them."""

    __slots__ = ("size", "total", "unlike")

    def __init__(self, size: int, total: int, unlike: Unlike) -> None:
        """Three cells that make `total`."""
        super().__init__()
        self.size, self.total, self.unlike = size, total, unlike

    def __missing__(self, packed: int) -> int:
        """Find and keep it."""
        size, full = self.size, (1 << self.size) - 1
        masks = packed & full, packed >> size & full, packed >> 2 * size
        one, two, three = _free_three(size, masks, self.total, self.unlike)
        if len(self) >= _REMEMBERED:
            self.clear()
        found = self[packed] = one | two << size | three << 2 * size
        return found


@lru_cache(maxsize=512)
def free_three(size: int, total: int, unlike: Unlike) -> FreeThree:
    """The table of a sum of three cells of which some differ, which is shared by all such sums."""
    return FreeThree(size, total, unlike)


def _free_three(size: int, masks: Masks, total: int, unlike: Unlike) -> Masks:
    """As `_three`, where digits may repeat but as `unlike` says."""
    reverse = mirror(size)
    first, second, third = masks
    two_unlike, three_unlike, others_unlike = unlike
    kept_first = kept_second = kept_third = 0
    reversed_third = reverse[third]
    while first:
        bit = first & -first
        first ^= bit
        rest = total - bit.bit_length()
        shift = rest - size - 1
        if three_unlike:
            reversed_third = reverse[third & ~bit]
        fits = second & (reversed_third << shift if shift >= 0 else reversed_third >> -shift)
        if two_unlike:
            fits &= ~bit
        if others_unlike and fits and not rest & 1:
            fits &= ~(1 << (rest >> 1) - 1)
        if fits:
            kept_first |= bit
            kept_second |= fits
            partners = reverse[fits]
            kept_third |= partners << shift if shift >= 0 else partners >> -shift
    return kept_first, kept_second, kept_third & third


@lru_cache(maxsize=1 << 15)
def ways(masks: Masks) -> tuple[tuple[int, Masks], ...]:
    """Return the totals that cells of distinct digits can make, each with what every cell holds then."""
    first, *others = masks
    if not others:
        return tuple([(index + 1, (1 << index,)) for index in range(first.bit_length()) if first >> index & 1])
    found: dict[int, Masks] = {}
    while first:
        bit = first & -first
        first ^= bit
        for total, held in ways(tuple([mask & ~bit for mask in others])):
            total += bit.bit_length()
            known = found.get(total)
            found[total] = (bit, *held) if known is None else (
                known[0] | bit, *[one | other for one, other in zip(known[1:], held, strict=True)])
    return tuple(found.items())


def reckoned(parts: Sequence[Masks], wanted: int) -> list[Masks] | None:
    """Return the digits of each cell that occur in a filling with one of the totals `wanted`. The digits of a part
    differ, others may repeat. None where there is no filling.

    Totals are a set of small numbers, an int with bit n for n: one shift adds a number to all that the first parts
    can make.
    """
    made, stages = 1, []
    for masks in parts:
        table = ways(masks)
        stages.append((table, made))
        further = 0
        for total, _ in table:
            further |= made << total
        made = further
    wanted &= made
    if not wanted:
        return None
    kept = []
    for table, made in reversed(stages):
        before = 0
        held = [0] * len(table[0][1])
        for total, masks in table:
            leads = wanted >> total & made
            if leads:
                before |= leads
                held = [one | other for one, other in zip(held, masks, strict=True)]
        wanted = before
        kept.append(tuple(held))
    return kept[::-1]


def totals_with(size: int, cells: int, taken: int, totals: Iterable[int]) -> int:
    """Return the totals as `reckoned` wants them, where so many of the cells are taken off: their digits count as
    their mirror images, so all is a sum.
    """
    shift = taken * (size + 1)
    return sum([1 << total + shift for total in totals if 0 <= total + shift <= cells * size])


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
    """Go through the sets of digits that the first cells can take, and back through those that lead to the total.

    A set of sets is an int, with bit s for the set whose mask is s: a digit is added to all of them by one shift.
    """
    lacking = _lacking(size)
    order = sorted(range(len(masks)), key=lambda index: masks[index].bit_count())
    reached = 1
    stages = []
    for index in order:
        stages.append(reached)
        further = 0
        mask = masks[index]
        while mask:
            bit = mask & -mask
            mask ^= bit
            further |= (reached & lacking[bit]) << bit
        reached = further
    wanted = reached & _family(size, len(masks), total)
    kept = [0] * len(masks)
    for index in reversed(order):
        reached = stages.pop()
        before = held = 0
        mask = masks[index]
        while mask:
            bit = mask & -mask
            mask ^= bit
            leads = wanted >> bit & reached & lacking[bit]
            if leads:
                held |= bit
                before |= leads
        kept[index] = held
        wanted = before
    return tuple(kept)


def sets_held(size: int, masks: Masks) -> int:
    """Return the sets of digits that cells can hold, one each and all different, as a set of sets: an int with bit
    s for the set whose mask is s.
    """
    lacking = _lacking(size)
    reached = 1
    for mask in masks:
        further = 0
        while mask:
            bit = mask & -mask
            mask ^= bit
            further |= (reached & lacking[bit]) << bit
        reached = further
    return reached


@lru_cache(maxsize=4096)
def _family(size: int, count: int, total: int) -> int:
    """The combinations as one set of sets."""
    family = 0
    for combination in combinations(size, count, total):
        family |= 1 << combination
    return family


@lru_cache(maxsize=16)
def _lacking(size: int) -> dict[int, int]:
    """For each digit, by its bit, all sets without it as one set of sets."""
    table = {}
    for digit in range(size):
        sets, width = (1 << (1 << digit)) - 1, 2 << digit
        while width < 1 << size:
            sets |= sets << width
            width *= 2
        table[1 << digit] = sets
    return table
