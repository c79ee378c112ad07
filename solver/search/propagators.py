"""One propagator for each kind of fact: what the grid holds in a fact's cells -> what the whole grid loses by it.

A propagator is given the part of the grid in the fields of its cells, and what it returns depends on nothing else,
so the results are kept with the fact. -1 says that the fact cannot hold. A second call on its own result finds
nothing more.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cagework.solver.combine import combinations
from cagework.solver.search.fields import Fields
from cagework.solver.search.ground import Relations
from cagework.solver.support import distinct, free_three, mirror, needed

_REMEMBERED = 512
"""Results kept with each fact: a long search must not fill the memory."""


@dataclass(slots=True)
class Fact:
    """A fact with its cells and its propagator; `known` are results by what its cells held."""

    cells: Sequence[int]
    propagator: Callable[[int], int]
    known: dict[int, int]

    def lost(self, held: int) -> int:
        """What the grid loses where the fact's cells hold this; kept for the next time."""
        lost = self.propagator(held)
        known = self.known
        if len(known) >= _REMEMBERED:
            known.clear()
        known[held] = lost
        if lost > 0:
            known[held & ~lost] = lost
        return lost


@lru_cache(maxsize=1 << 10)
def whole_sum(size: int, count: int, total: int) -> int:
    """The digits in some combination; none where all combinations share a digit."""
    held, common = 0, -1
    for combination in combinations(size, count, total):
        held |= combination
        common &= combination
    return 0 if common else held


def domino(shape: Fields, first: int, second: int, total: int, seen: Sequence[int]) -> Callable[[int], int]:
    """As `cage`, for two cells: their digits answer each other by mirror and shift."""
    size = shape.size
    reverse = mirror(size)
    shift = total - size - 1
    up, down = (shift, 0) if shift > 0 else (0, -shift)
    unlike = ~0 if total & 1 or total < 2 else ~(1 << (total >> 1) - 1)
    here, there = first * shape.width, second * shape.width
    full = (1 << size) - 1

    def lost(held: int) -> int:
        one, other = held >> here & full, held >> there & full
        kept = one & reverse[other] << up >> down & unlike
        if not kept:
            return -1
        partners = reverse[kept] << up >> down
        gone = (one ^ kept) << here | (other ^ partners) << there
        if kept == partners and kept.bit_count() == 2:
            both = seen[first] & seen[second]
            low = kept & -kept
            gone |= both << low.bit_length() - 1 | both << kept.bit_length() - 1
        return gone

    return lost


def cage(shape: Fields, cells: Sequence[int], total: int, seen: Sequence[int]) -> Callable[[int], int]:
    """Exact support for distinct digits that add to `total`, and what it means next door.

    A digit that every remaining combination needs leaves the cells that see all its places in the cage.
    `seen` holds for each cell the cells that see it, as the lowest bits of their fields.
    """
    size = shape.size
    reverse = mirror(size)
    full = (1 << size) - 1
    places = [(cell, cell * shape.width) for cell in cells]

    def lost(held: int) -> int:
        rest = total
        where = []
        masks = []
        for place in places:
            mask = held >> place[1] & full
            if mask & mask - 1:
                where.append(place)
                masks.append(mask)
            else:
                rest -= mask.bit_length()
        count = len(masks)
        if count > 2:
            kept = distinct(size, tuple(masks), rest)
            if kept is None:
                return -1
        elif count == 2:
            shift = rest - size - 1
            partners = reverse[masks[1]]
            first = masks[0] & (partners << shift if shift >= 0 else partners >> -shift)
            if first and not rest & 1:
                first &= ~(1 << (rest >> 1) - 1)
            if not first:
                return -1
            partners = reverse[first]
            kept = (first, partners << shift if shift >= 0 else partners >> -shift)
        elif count:
            if not (rest > 0 and masks[0] >> rest - 1 & 1):
                return -1
            return (masks[0] ^ 1 << rest - 1) << where[0][1]
        else:
            return -1 if rest else 0
        gone = union = 0
        for keep, mask, place in zip(kept, masks, where, strict=True):
            union |= keep
            gone |= (keep ^ mask) << place[1]
        common = union if union.bit_count() == count else needed(size, union, count, rest)
        if common:
            gone |= _next_door(common, [place[0] for place in where], kept, seen)
        return gone

    return lost


def triple(shape: Fields, cells: Sequence[int], total: int, seen: Sequence[int]) -> Callable[[int], int]:
    """As `cage`, for three cells."""
    size = shape.size
    full = (1 << size) - 1
    first, second, third = [cell * shape.width for cell in cells]
    general = cage(shape, cells, total, seen)

    def lost(held: int) -> int:
        one, two, three = held >> first & full, held >> second & full, held >> third & full
        if not (one & one - 1 and two & two - 1 and three & three - 1):
            return general(held)
        kept = distinct(size, (one, two, three), total)
        if kept is None:
            return -1
        this, that, other = kept
        gone = (one ^ this) << first | (two ^ that) << second | (three ^ other) << third
        union = this | that | other
        common = union if union.bit_count() == 3 else needed(size, union, 3, total)
        return gone | _next_door(common, cells, kept, seen) if common else gone

    return lost


def _next_door(digits: int, cells: Sequence[int], masks: Sequence[int], seen: Sequence[int]) -> int:
    """What the cells that see all places of a digit lose, for each digit that is sure to be in these cells."""
    gone = 0
    while digits:
        digit = digits & -digits
        digits ^= digit
        common = -1
        for cell, mask in zip(cells, masks, strict=True):
            if mask & digit:
                common &= seen[cell]
        gone |= common << digit.bit_length() - 1
    return gone


def same(shape: Fields, ones: Sequence[int], others: Sequence[int]) -> Callable[[int], int]:
    """As many cells on either side hold the same digits: what one side cannot hold leaves the other."""
    full = (1 << shape.size) - 1
    here, there = ([cell * shape.width for cell in side] for side in (ones, others))
    low = sum([1 << place for place in (*here, *there)])

    def lost(held: int) -> int:
        one = other = 0
        for place in here:
            one |= held >> place & full
        for place in there:
            other |= held >> place & full
        return held & low * (one ^ other)

    return lost


def balance(shape: Fields, plus: Sequence[int], minus: Sequence[int], total: int) -> Callable[[int], int]:
    """The cells of `plus` less those of `minus` make `total`; digits may repeat.

    Exact for up to three open cells, by bounds for more. A minus cell counts as its mirror image, which
    turns the difference into a sum.
    """
    size = shape.size
    reverse = mirror(size)
    full = (1 << size) - 1
    added, taken = ([cell * shape.width for cell in side] for side in (plus, minus))

    def lost(held: int) -> int:
        rest = total
        where = []
        masks = []
        for place in added:
            mask = held >> place & full
            if mask & mask - 1:
                where.append(place)
                masks.append(mask)
            else:
                rest -= mask.bit_length()
        count = len(masks)
        for place in taken:
            mask = held >> place & full
            if mask & mask - 1:
                where.append(place)
                masks.append(reverse[mask])
                rest += size + 1
            else:
                rest += mask.bit_length()
        kept = _sum(size, masks, rest, reverse)
        if kept is None:
            return -1
        gone = 0
        for number, keep in enumerate(kept):
            dropped = masks[number] ^ keep
            if dropped:
                gone |= (dropped if number < count else reverse[dropped]) << where[number]
        if gone and len(kept) > 3 and not all(mask & mask - 1 for mask in kept):
            # Fewer cells are open now, and may be few enough to be exact.
            further = lost(held & ~gone)
            return gone | further if further >= 0 else -1
        return gone

    return lost


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


def house(shape: Fields, cells: Sequence[int]) -> Callable[[int], int]:
    """Hidden singles: a digit with one place left goes there; a digit with none is a contradiction."""
    full = (1 << shape.size) - 1
    places = [cell * shape.width for cell in cells]

    def lost(held: int) -> int:
        once = twice = 0
        for place in places:
            mask = held >> place & full
            twice |= once & mask
            once |= mask
        if once != full:
            return -1
        single = once & ~twice
        gone = 0
        for place in places:
            mask = held >> place & full
            fixed = mask & single
            if fixed and fixed != mask:
                if fixed & fixed - 1:
                    return -1
                gone |= (mask ^ fixed) << place
        return gone

    return lost


class Clashes(dict[int, int]):
    """By the number of a bit of the grid, every bit that cannot stand beside it; found when it is asked for."""

    def __init__(self, shape: Fields, seen: Sequence[int], relations: Relations) -> None:
        """Take the cells that see each cell, and its pairs, as a `Ground` has them."""
        super().__init__()
        self.shape = shape
        self.seen = seen
        self.relations = relations

    def __missing__(self, bit: int) -> int:
        """Find it, and keep it."""
        size, width = self.shape.size, self.shape.width
        cell, digit = divmod(bit, width)
        bits = self.seen[cell] << digit | ((1 << size) - 1 ^ 1 << digit) << cell * width
        for other, forbidden in self.relations.get(cell, ()):
            bits |= forbidden[digit] << other * width
        self[bit] = bits
        return bits


def places(clashes: Clashes) -> Callable[[int], int]:
    """A digit's places in a house that needs it: what clashes with all of them goes."""

    def lost(held: int) -> int:
        gone = -1
        while held:
            bit = held.bit_length() - 1
            held ^= 1 << bit
            gone &= clashes[bit]
            if not gone:
                break
        return gone

    return lost


def relation(
    shape: Fields, cell: int, others: Sequence[tuple[int, tuple[int, ...]]]
) -> Callable[[int], int]:
    """What all digits of a cell forbid leaves the other cells of its pairs; `others` as in `Relations`."""
    place = cell * shape.width
    full = (1 << shape.size) - 1

    def lost(held: int) -> int:
        mask = held >> place & full
        gone = 0
        for other, forbidden in others:
            common = _forbidden_by_all(forbidden, mask)
            if common:
                gone |= common << other * shape.width
        return gone

    return lost


@lru_cache(maxsize=1 << 12)
def _forbidden_by_all(forbidden: tuple[int, ...], mask: int) -> int:
    """What each digit of a mask forbids."""
    common = -1
    for digit, bits in enumerate(forbidden):
        if mask >> digit & 1:
            common &= bits
    return common
