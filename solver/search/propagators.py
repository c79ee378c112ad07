"""One propagator for each kind of fact: the grid -> what the grid loses by it.

A propagator looks at nothing but the fields of its own cells. -1 says that the fact cannot hold. A second call on
its own result finds nothing more in these cells. What cells can hold is kept in tables that all sums of a kind
share, what a fact says in the fact.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

from cagework.solver.combine import combinations
from cagework.solver.search.fields import Fields
from cagework.solver.support import FreeThree, Unlike, fillings, free_three, mirror

Propagator = Callable[[int], int]

Fact = tuple[int, dict[int, int], Propagator, Sequence[int]]
"""A fact's cells as fields, results by what the cells held, its propagator, and its cells.

Facts and couples are bare tuples because the search unpacks them all the time, and named ones are slower at that.
"""

Couple = tuple[int, int, int, Sequence[int], int, int, int, int, int, int, tuple[int, int]]
"""Two cells whose digits make a sum or a difference: `mask`, their fields; `here` and `there`, the lowest bit of
each; `turned`, `up`, `down`, `up_again`, `down_again`, `unlike`, `next_door`, and the cells.

What answers the second cell's mask in the first is that mask, `turned` (to its mirror image for a sum) and
shifted `up` and `down`, and of that what is in `unlike`; `up_again` and `down_again` lead back. `next_door`
are the lowest bits of the cells that see both, if two digits for the two leave those.
"""


@lru_cache(maxsize=1 << 10)
def whole_sum(size: int, count: int, total: int) -> tuple[int, bool]:
    """The digits that can stand in a sum of distinct digits when nothing is known, and whether that is all to say.

    Longer sums are held to their bounds only: they are looked at anyhow, when more is known.
    """
    if count == 3:
        held, common = 0, -1
        for combination in combinations(size, count, total):
            held |= combination
            common &= combination
        return held, not common
    others = count - 1
    least = total - others * (2 * size - others + 1) // 2
    greatest = total - others * (others + 1) // 2
    full = (1 << size) - 1
    held = full >> max(size - greatest, 0) & full << max(least - 1, 0) if greatest > 0 else 0
    if count == 2 and total > 1 and not total & 1:
        held &= ~(1 << (total >> 1) - 1)
    return held, False


def domino(shape: Fields, first: int, second: int, total: int, seen: Sequence[int]) -> Couple:
    """As `cage`, for two cells."""
    unlike = ~0 if total & 1 or total < 2 else ~(1 << (total >> 1) - 1)
    return _sum_of_two(shape, first, second, total, unlike, seen[first] & seen[second])


@lru_cache(maxsize=256)
def partnered(forbidden: tuple[int, ...], total: int) -> int:
    """The digits of a cell whose partner in a sum of two is not forbidden; `forbidden` by digit, from 0."""
    return sum([1 << digit for digit, bits in enumerate(forbidden) if not bits << digit + 2 >> total & 1])


def _sum_of_two(shape: Fields, first: int, second: int, total: int, unlike: int, next_door: int) -> Couple:
    shift = total - shape.size - 1
    up, down = (shift, 0) if shift > 0 else (0, -shift)
    here, there = first * shape.width, second * shape.width
    full = (1 << shape.size) - 1
    return (full << here | full << there, here, there, mirror(shape.size), up, down, up, down, unlike,
            next_door, (first, second))


def cage(shape: Fields, cells: Sequence[int], total: int, seen: Sequence[int]) -> Propagator:
    """Support for distinct digits that add to `total`, as `Fillings` have it, and what it means next door.

    A digit that every remaining combination needs leaves the cells that see all its places in the cage.
    `seen` holds for each cell the cells that see it, as the lowest bits of their fields.
    """
    size, full, low = shape.size, (1 << shape.size) - 1, shape.low
    width = shape.width

    def lost(grid: int) -> int:
        rest = total
        where = []
        packed = count = 0
        for cell in cells:
            mask = grid >> cell * width & full
            if mask & mask - 1:
                where.append(cell)
                packed |= mask << count
                count += size
            else:
                rest -= mask.bit_length()
        if count > 2 * size:
            kept, common = fillings(size, len(where), rest)[packed]
            if not kept:
                return -1
        elif count > size:
            return _two_open(shape, where[0], where[1], packed & full, packed >> size, rest, seen)
        elif count:
            if not (rest > 0 and packed >> rest - 1 & 1):
                return -1
            return (packed ^ 1 << rest - 1) << where[0] * width
        else:
            return -1 if rest else 0
        gone = 0
        diff = packed ^ kept
        if diff:
            for cell in where:
                gone |= (diff & full) << cell * width
                diff >>= size
        if common:
            bars = -1
            for cell in where:
                bars &= _bars(common, kept & full, seen[cell], low)
                kept >>= size
            gone |= bars
        return gone

    return lost


def triple(shape: Fields, cells: Sequence[int], total: int, seen: Sequence[int]) -> Propagator:
    """As `cage`, for three cells."""
    size, full, low = shape.size, (1 << shape.size) - 1, shape.low
    one, two, three = cells
    first, second, third = [cell * shape.width for cell in cells]
    twice = 2 * size
    table = fillings(size, 3, total)
    next_door = seen[one] & seen[two] & seen[three]

    def lost(grid: int) -> int:
        this, that, other = grid >> first & full, grid >> second & full, grid >> third & full
        if not this & this - 1:
            return _two_open(shape, two, three, that, other, total - this.bit_length(), seen)
        if not that & that - 1:
            return _two_open(shape, one, three, this, other, total - that.bit_length(), seen)
        if not other & other - 1:
            return _two_open(shape, one, two, this, that, total - other.bit_length(), seen)
        packed = this | that << size | other << twice
        kept, common = table[packed]
        if not kept:
            return -1
        gone = 0
        if kept != packed:
            diff = kept ^ packed
            gone = (diff & full) << first | (diff >> size & full) << second | diff >> twice << third
        if common:
            this, that, other = kept & full, kept >> size & full, kept >> twice
            if common & this & that & other == common:
                return gone | next_door * common
            gone |= (_bars(common, this, seen[one], low) & _bars(common, that, seen[two], low)
                     & _bars(common, other, seen[three], low))
        return gone

    return lost


def _two_open(
    shape: Fields, one: int, other: int, this: int, that: int, total: int, seen: Sequence[int]
) -> int:
    """As `cage`, for the two last cells of a sum, with their masks; either may be placed."""
    reverse = mirror(shape.size)
    shift = total - shape.size - 1
    kept = this & (reverse[that] << shift if shift >= 0 else reverse[that] >> -shift)
    if kept and not total & 1:
        kept &= ~(1 << (total >> 1) - 1)
    if not kept:
        return -1
    answers = reverse[kept] << shift if shift >= 0 else reverse[kept] >> -shift
    gone = 0
    if kept != this or answers != that:
        gone = (this ^ kept) << one * shape.width | (that ^ answers) << other * shape.width
    if kept == answers and kept.bit_count() == 2:
        gone |= (seen[one] & seen[other]) * kept
    return gone


def _bars(digits: int, held: int, seen: int, low: int) -> int:
    """What a cell with some of these digits leaves of the bar to them: all of it for those that it has not."""
    here = digits & held
    # The factors have one bit to a field, so nothing is carried.
    return seen * here if here == digits else seen * here | low * (digits ^ here)


def same(shape: Fields, ones: Sequence[int], others: Sequence[int]) -> Propagator:
    """As many cells on either side hold the same digits: what one side cannot hold leaves the other."""
    full = (1 << shape.size) - 1
    here, there = ([cell * shape.width for cell in side] for side in (ones, others))
    low = sum([1 << place for place in (*here, *there)])

    def lost(grid: int) -> int:
        one = other = 0
        for place in here:
            one |= grid >> place & full
        for place in there:
            other |= grid >> place & full
        return grid & low * (one ^ other)

    return lost


def couple(shape: Fields, plus: Sequence[int], minus: Sequence[int], total: int) -> Couple:
    """As `balance`, for two cells."""
    if not minus:
        return _sum_of_two(shape, plus[0], plus[1], total, ~0, 0)
    up, down = (total, 0) if total > 0 else (0, -total)
    both = [*plus, *minus]      # not unpacked at once: mypyc, which `tests/bench/limit.py` compiles with, cannot
    cells = first, second = both[0], both[1]
    return (shape.of(cells), first * shape.width, second * shape.width, range(1 << shape.size), up, down, down, up,
            ~0, 0, cells)


def balance(
    shape: Fields, plus: Sequence[int], minus: Sequence[int], total: int, seen: Sequence[int],
) -> Propagator:
    """The cells of `plus` less those of `minus` make `total`; digits may repeat where cells do not see each other.

    Exact for three cells, by bounds for more. `seen` as for `cage`.
    """
    if len(plus) + len(minus) == 3:
        return _balance_of_three(shape, plus, minus, total, seen)
    full = (1 << shape.size) - 1
    added, taken = ([cell * shape.width for cell in side] for side in (plus, minus))
    most = shape.size - 1

    def lost(grid: int) -> int:
        gone = 0
        while True:
            least = greatest = 0
            for place in added:
                mask = grid >> place & full
                least += (mask & -mask).bit_length()
                greatest += mask.bit_length()
            for place in taken:
                mask = grid >> place & full
                least -= mask.bit_length()
                greatest -= (mask & -mask).bit_length()
            above, below = total - least, greatest - total
            if above < 0 or below < 0:
                return -1
            trimmed = 0
            if above < most or below < most:
                for place in added:
                    trimmed |= _beyond(grid >> place & full, above, below) << place
                for place in taken:
                    trimmed |= _beyond(grid >> place & full, below, above) << place
            if not trimmed:
                return gone
            gone |= trimmed
            grid &= ~trimmed

    return lost


def _beyond(mask: int, above: int, below: int) -> int:
    """The digits of a mask that are more than so much above its least one or below its greatest."""
    least, greatest = (mask & -mask).bit_length(), mask.bit_length()
    gone = 0
    if greatest - least > above:
        gone = mask >> least + above << least + above
    if greatest - least > below:
        gone |= mask & (1 << greatest - below - 1) - 1
    return gone


def _balance_of_three(
    shape: Fields, plus: Sequence[int], minus: Sequence[int], total: int, seen: Sequence[int],
) -> Propagator:
    """As `balance`, for three cells. One that is taken off counts as its mirror image, so all is a sum."""
    size, full, twice = shape.size, (1 << shape.size) - 1, 2 * shape.size
    reverse: Sequence[int] = mirror(size)
    both = [*plus, *minus]
    one, two, three = both
    first, second, third = one * shape.width, two * shape.width, three * shape.width
    turn, turn_second, turn_third = [range(full + 1)] * len(plus) + [reverse] * len(minus)
    second_low, third_low = shape.lowest[two], shape.lowest[three]
    table, fit = _balanced(size, len(plus), total, (
        seen[one] & second_low != 0, seen[one] & third_low != 0, seen[two] & third_low != 0))

    def lost(grid: int) -> int:
        packed = (turn[grid >> first & full] | turn_second[grid >> second & full] << size
                  | turn_third[grid >> third & full] << twice)
        kept = table[packed & fit]
        if not kept:
            return -1
        gone = kept ^ packed
        return gone and (turn[gone & full] << first | turn_second[gone >> size & full] << second
                         | turn_third[gone >> twice] << third)

    return lost


@lru_cache(maxsize=1 << 12)
def _balanced(size: int, added: int, total: int, apart: Unlike) -> tuple[FreeThree, int]:
    """The table for three cells of which the first ones are added, the others taken off, and the digits that may
    stand in them.

    Where one cell is added and another taken off, to differ means that the third does not make the total alone.
    """
    unlike, fit = list(apart), (1 << 3 * size) - 1
    for number, (one, other, last) in enumerate(((0, 1, 2), (0, 2, 1), (1, 2, 0))):
        if apart[number] and one < added <= other:
            unlike[number] = False
            digit = total if last < added else -total
            if 0 < digit <= size:
                fit ^= 1 << last * size + (digit if last < added else size + 1 - digit) - 1
    return free_three(size, total + (size + 1) * (3 - added), (unlike[0], unlike[1], unlike[2])), fit


def house(shape: Fields, cells: Sequence[int]) -> Propagator:
    """Hidden singles: a digit with one place left goes there; a digit with none is a contradiction."""
    full = (1 << shape.size) - 1
    places = [cell * shape.width for cell in cells]
    low = shape.of(cells) & shape.low
    every, guard = low * full, low << shape.size

    def lost(grid: int) -> int:
        once = twice = 0
        for place in places:
            mask = grid >> place & full
            twice |= once & mask
            once |= mask
        if once != full:
            return -1
        hidden = grid & low * (once & ~twice)
        filled = hidden + every
        if hidden & filled & every:
            return -1
        # All digits of the cells that hold one of them.
        filled &= guard
        return grid & filled - (filled >> shape.size) & ~hidden

    return lost
