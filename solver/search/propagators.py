"""One propagator for each kind of fact: candidates -> what each cell may keep.

A propagator reads the grid's candidate masks and returns (cell, digits to keep) pairs, or None where its
fact cannot hold. It changes nothing itself. A second call on its own result finds nothing more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from operator import itemgetter

from cagework.solver.bitset import members
from cagework.solver.support import distinct, free_three, mirror, needed

Changes = Iterable[tuple[int, int]]
Propagator = Callable[[list[int]], Changes | None]

_NONE: tuple[tuple[int, int], ...] = ()


def house(size: int, cells: Sequence[int]) -> Propagator:
    """Hidden singles: a digit with one place left goes there; a digit with none is a contradiction."""
    full = (1 << size) - 1
    take = itemgetter(*cells)

    def narrow(candidates: list[int]) -> Changes | None:
        once = twice = 0
        masks = take(candidates)
        for mask in masks:
            twice |= once & mask
            once |= mask
        if once != full:
            return None
        single = once & ~twice
        if not single:
            return _NONE
        changes = []
        for cell, mask in zip(cells, masks, strict=True):
            fixed = mask & single
            if fixed and fixed != mask:
                if fixed & fixed - 1:
                    return None
                changes.append((cell, fixed))
        return changes

    return narrow


def domino(size: int, first: int, second: int, total: int, peers: Sequence[int]) -> Propagator:
    """As `cage`, for two cells: their digits answer each other by mirror and shift."""
    reverse = mirror(size)
    shift = total - size - 1
    up, down = (shift, 0) if shift > 0 else (0, -shift)
    unlike = ~0 if total & 1 or total < 2 else ~(1 << (total >> 1) - 1)

    def narrow(candidates: list[int]) -> Changes | None:
        one, other = candidates[first], candidates[second]
        kept = one & reverse[other] << up >> down & unlike
        if not kept:
            return None
        partners = reverse[kept] << up >> down
        if kept.bit_count() == 2 and kept == partners:
            changes = [
                (cell, ~kept) for cell in members(peers[first] & peers[second]) if candidates[cell] & kept
            ]
            if kept != one or kept != other:
                changes += ((first, kept), (second, kept))
            return changes
        return ((first, kept), (second, partners)) if kept != one or partners != other else _NONE

    return narrow


def cage(size: int, cells: Sequence[int], total: int, peers: Sequence[int]) -> Propagator:
    """Exact support for distinct digits that add to `total`, and what it means next door.

    A digit that every remaining combination needs leaves the cells that see all its places in the cage.
    `peers` holds for each cell the cells that see it, as bits.
    """
    reverse = mirror(size)

    def narrow(candidates: list[int]) -> Changes | None:
        rest = total
        cells_open = []
        masks = []
        for cell in cells:
            mask = candidates[cell]
            if mask & mask - 1:
                cells_open.append(cell)
                masks.append(mask)
            else:
                rest -= mask.bit_length()
        count = len(masks)
        if count > 2:
            kept = distinct(size, tuple(masks), rest)
            if kept is None:
                return None
        elif count == 2:
            shift = rest - size - 1
            partners = reverse[masks[1]]
            first = masks[0] & (partners << shift if shift >= 0 else partners >> -shift)
            if first and not rest & 1:
                first &= ~(1 << (rest >> 1) - 1)
            if not first:
                return None
            partners = reverse[first]
            kept = (first, partners << shift if shift >= 0 else partners >> -shift)
        elif count:
            return ((cells_open[0], 1 << rest - 1),) if rest > 0 else None
        else:
            return None if rest else _NONE
        changes = []
        union = 0
        for index, keep in enumerate(kept):
            union |= keep
            if keep != masks[index]:
                changes.append((cells_open[index], keep))
        common = union if union.bit_count() == count else needed(size, union, count, rest)
        if common:
            _locked(common, cells_open, kept, peers, candidates, changes)
        return changes

    return narrow


def _locked(
    digits: int,
    cells: Sequence[int],
    masks: Sequence[int],
    peers: Sequence[int],
    candidates: list[int],
    changes: list[tuple[int, int]],
) -> None:
    """Take each of the digits, sure to be in these cells, from all cells that see its places."""
    while digits:
        digit = digits & -digits
        digits ^= digit
        seen = -1
        for cell, mask in zip(cells, masks, strict=True):
            if mask & digit:
                seen &= peers[cell]
        if seen:
            for cell in members(seen):
                if candidates[cell] & digit:
                    changes.append((cell, ~digit))


def same(ones: Sequence[int], others: Sequence[int]) -> Propagator:
    """As many cells on either side hold the same digits: what one side cannot hold leaves the other."""

    def narrow(candidates: list[int]) -> Changes | None:
        one = other = 0
        for cell in ones:
            one |= candidates[cell]
        for cell in others:
            other |= candidates[cell]
        if one == other:
            return _NONE
        both = one & other
        return [(cell, both) for cell in (*ones, *others) if candidates[cell] & ~both]

    return narrow


def balance(size: int, plus: Sequence[int], minus: Sequence[int], total: int) -> Propagator:
    """The cells of `plus` less those of `minus` make `total`; digits may repeat.

    Exact for up to three open cells, by bounds for more. A minus cell counts as its mirror image, which
    turns the difference into a sum.
    """
    reverse = mirror(size)

    def narrow(candidates: list[int]) -> Changes | None:
        rest = total
        cells_open = []
        masks = []
        for cell in plus:
            mask = candidates[cell]
            if mask & mask - 1:
                cells_open.append(cell)
                masks.append(mask)
            else:
                rest -= mask.bit_length()
        added = len(masks)
        for cell in minus:
            mask = candidates[cell]
            if mask & mask - 1:
                cells_open.append(cell)
                masks.append(reverse[mask])
                rest += size + 1
            else:
                rest += mask.bit_length()
        kept = _sum(size, masks, rest, reverse)
        if kept is None:
            return None
        return [
            (cells_open[index], mask if index < added else reverse[mask])
            for index, mask in enumerate(kept)
            if mask != masks[index]
        ]

    return narrow


def _sum(size: int, masks: list[int], total: int, reverse: Sequence[int]) -> Sequence[int] | None:
    """What each mask keeps where the digits add to `total` and may repeat."""
    count = len(masks)
    if count > 3:
        return _bounded(masks, total)
    if count == 3:
        return free_three(size, tuple(masks), total)
    if count == 2:
        shift = total - size - 1
        partners = reverse[masks[1]]
        first = masks[0] & (partners << shift if shift >= 0 else partners >> -shift)
        partners = reverse[first]
        return (first, masks[1] & (partners << shift if shift >= 0 else partners >> -shift)) if first else None
    if count:
        kept = masks[0] & (1 << total - 1 if total > 0 else 0)
        return (kept,) if kept else None
    return None if total else ()


def _bounded(masks: list[int], total: int) -> list[int] | None:
    """Trim each mask to what the others' least and greatest digits leave for it, until nothing moves."""
    kept = masks
    while True:
        least = greatest = 0
        for mask in kept:
            least += (mask & -mask).bit_length()
            greatest += mask.bit_length()
        above, below = total - least, greatest - total
        if above < 0 or below < 0:
            return None
        trimmed = []
        for mask in kept:
            low, high = (mask & -mask).bit_length(), mask.bit_length()
            if high - low > above:
                mask &= (1 << low + above) - 1
            if high - low > below:
                mask = mask >> high - below - 1 << high - below - 1
            if not mask:
                return None
            trimmed.append(mask)
        if trimmed == kept:
            return kept
        kept = trimmed


def pair(first: int, second: int, allowed: tuple[int, ...]) -> Propagator:
    """Keep in each of two cells the digits that some digit of the other allows."""
    onward, back = _relation(allowed)
    # Two lookups of half a mask each: a table of all masks would take a large grid longer than its search.
    half = len(allowed) + 1 >> 1
    low = (1 << half) - 1
    onward_low, onward_high = onward
    back_low, back_high = back

    def narrow(candidates: list[int]) -> Changes | None:
        one, other = candidates[first], candidates[second]
        kept = other & (onward_low[one & low] | onward_high[one >> half])
        if not kept:
            return None
        left = one & (back_low[kept & low] | back_high[kept >> half])
        return ((second, kept), (first, left)) if kept != other or left != one else _NONE

    return narrow


_Halves = tuple[list[int], list[int]]


@lru_cache(maxsize=64)
def _relation(allowed: tuple[int, ...]) -> tuple[_Halves, _Halves]:
    """What the digits of a mask's lower and upper half allow the other cell, both ways."""
    size = len(allowed)
    back = [sum([(mask >> y & 1) << x for x, mask in enumerate(allowed)]) for y in range(size)]
    half = size + 1 >> 1
    return (_reach(allowed[:half]), _reach(allowed[half:])), (_reach(back[:half]), _reach(back[half:]))


def _reach(masks: Sequence[int]) -> list[int]:
    """For each set of these digits, as bits, all that some digit of it allows."""
    table = [0]
    for mask in masks:
        table += [reached | mask for reached in table]
    return table
