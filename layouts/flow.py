"""Blocks of running matter, and where a column of them may end: no widows, no orphans, no heading left behind."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from itertools import accumulate
from math import ceil, floor
from typing import NamedTuple

_LEAST = 2
"""Fewest lines of a divided paragraph on either side of the division."""
_NEAR = 6
"""An end that is as many lines less deep than wanted is looked for before all others are."""
_HAIR = 1e-6
"""Lines by which lengths may differ that are the same but for rounding."""


@dataclass(frozen=True, slots=True)
class Block:
    """A thing of `lines` lines of `leading` each that a column may divide between lines.

    A figure is one line as high as itself. `before` is white above it, dropped at the head of a column; where that
    levels columns it is wider by up to `gives` lines, and where nothing else does by up to `most`.
    `keep` holds it, or the end of it, to the start of the next block. One that is `wide` stands across all columns
    of a page. A figure that `floats` may wait for the head of the next column, or a wide one for the next page,
    while the paragraph after it begins, and may begin the column after the paragraph that is kept to it.
    One that is `whole` is not divided, unless it is higher than a column.
    """

    lines: int
    leading: float
    before: float = 0.0
    keep: bool = False
    wide: bool = False
    floats: bool = False
    whole: bool = False
    gives: int = 0
    most: int = 0


@dataclass(frozen=True, slots=True)
class Placed:
    """Lines `first` up to `last` (not included) of block number `block`, with their top at `y`."""

    block: int
    first: int
    last: int
    y: float


class Spot(NamedTuple):
    """Where to go on: a block, its line, and the figure that waits for the head of the column, if any."""

    block: int
    line: int
    held: int | None = None

    @property
    def first(self) -> int:
        """The first block that is not placed."""
        return self.block if self.held is None else self.held

    def moved(self, by: int) -> Spot:
        """The spot where there are so many blocks more before it."""
        return Spot(self.block + by, self.line, None if self.held is None else self.held + by)


class End(NamedTuple):
    """An end of a column: where the next goes on, how deep this is in lines, and how many lines its spaces give,
    and at the most.
    """

    after: Spot
    depth: float
    gives: int = 0
    most: int = 0


Column = tuple[Placed, ...]
Band = tuple[Column, ...]
"""Columns side by side, or one that is across them all: the only block in it is wide."""
Filled = tuple[tuple[Band, ...], ...]
"""Pages of bands, one under the other."""


def foot(blocks: Sequence[Block], column: Column) -> float:
    """Where a column of some blocks ends, below the top that its places count from."""
    last = column[-1]
    return last.y + (last.last - last.first) * blocks[last.block].leading


class Run:
    """Blocks that follow one another in columns. Lengths that go in and come out are in lines of `unit` each."""

    def __init__(self, blocks: Sequence[Block], unit: float) -> None:
        self.blocks, self.unit = blocks, unit
        self._lead = [round(block.leading / unit, 6) for block in blocks]
        self._before = [round(block.before / unit, 6) for block in blocks]
        self._high = [block.lines * lead for block, lead in zip(blocks, self._lead, strict=True)]
        self._feet = list(accumulate(map(float.__add__, self._before, self._high)))
        self._given = list(accumulate([block.gives for block in blocks], initial=0))
        self._most = list(accumulate([block.most for block in blocks], initial=0))
        self._lines = list(accumulate([block.lines if block.lines > 1 or block.keep else max(1, int(high))
                                       for block, high in zip(blocks, self._high, strict=True)], initial=0))
        self.count = len(blocks)

    def upto(self, count: int) -> Run:
        """The run that ends before a block."""
        shorter = copy(self)
        shorter.count = count
        return shorter

    @property
    def stop(self) -> Spot:
        """Where nothing is left."""
        return Spot(self.count, 0)

    def height(self, block: int) -> float:
        """How high a block is with the white over it."""
        return self._before[block] + self._high[block]

    def before(self, block: int) -> float:
        """The white over a block."""
        return self._before[block]

    def lead(self, block: int) -> float:
        """How high the start of a block is that is never parted from what is before it; 0 past the last."""
        if block >= len(self.blocks):
            return 0.0
        return self._before[block] + min(self.blocks[block].lines, _LEAST) * self._lead[block]

    def rest(self, at: Spot) -> float:
        """How high all is from a spot on, in one column."""
        return self._offset(at) + self._feet[self.count - 1] if self.count else 0.0

    def lines(self, at: Spot) -> int:
        """How many lines there are from a spot on; a heading is one, a figure as many as it is high."""
        held = 0 if at.held is None else self._lines[at.held + 1] - self._lines[at.held]
        return self._lines[self.count] - self._lines[at.block] - at.line + held

    def ends(self, at: Spot, room: float, low: float = 0.0) -> list[End]:
        """Where a column that begins at a spot may end, the fullest last: no deeper than `room`, and no less than
        `low` where it can be; where no such end keeps together what is kept, one that does not; where not even the
        first block has room, that overflows.
        """
        found = list(self._ends(at, room, low, strict=True))
        for less in (low - _NEAR, 0.0):
            if not found and low > 0:
                found = list(self._ends(at, room, max(0.0, less), strict=True))[-1:]
        return found or list(self._ends(at, room, 0.0, strict=False))[-1:] or [self._forced(at, room)]

    def fits(self, at: Spot, room: float) -> bool:
        """Whether any end is no higher than `room`."""
        return next(self._ends(at, room, 0.0, strict=True), None) is not None

    def _offset(self, at: Spot) -> float:
        """What turns the foot of a block as it were in one endless column into its foot in one that begins at a
        spot.
        """
        begun = at.line * self._lead[at.block] if at.block < self.count else 0.0
        over = self._feet[at.block - 1] if at.block else 0.0
        if at.held is not None:
            return self._high[at.held] - over - begun
        return -over - begun - (self._before[at.block] if at.block < self.count else 0.0)

    def _ends(self, at: Spot, room: float, low: float, *, strict: bool) -> Iterator[End]:
        blocks, room = self.blocks, room + _HAIR
        offset, late = self._offset(at), None
        begun = min(at.block + (at.held is None), self.count)
        given, most = self._given[begun], self._most[begun]
        if at.held is not None:
            if self._high[at.held] > room:
                return
            if low <= self._high[at.held] + _HAIR:
                yield End(Spot(at.block, at.line), self._high[at.held])
        number = bisect_left(self._feet, low - offset - _HAIR, at.block, self.count)
        while number < self.count:
            block, foot = blocks[number], offset + self._feet[number]
            if self._stands(number):
                if late is not None:
                    break
                if foot > room:
                    if not block.floats or (number == at.block and at.held is None):
                        break
                    late, offset = number, offset - self.height(number)
                    given, most = given + block.gives, most + block.most
                    number += 1
                    continue
            gives, may = max(0, self._given[number + 1] - given), max(0, self._most[number + 1] - most)
            if block.lines > 1 and not block.whole:
                top = foot - self._high[number]
                for line in self._divisions(number, at, low - top, room - top):
                    yield End(Spot(number, line, late), top + line * self._lead[number], gives, may)
            if foot > room:
                break
            if not strict or self._parts(number):
                yield End(Spot(number + 1, 0, late), foot, gives, may)
            number += 1

    def _divisions(self, number: int, at: Spot, low: float, room: float) -> range:
        """After how many lines of a paragraph a column that begins at a spot may end, given the least and the most
        room there is below the paragraph's top.
        """
        lead, lines = self._lead[number], self.blocks[number].lines
        first = _LEAST + (at.line if number == at.block else 0)
        return range(max(first, ceil((low - _HAIR) / lead)), min(lines - _LEAST, floor(room / lead)) + 1)

    def _stands(self, number: int) -> bool:
        """Whether a block is a figure, or a line kept to the next: not text that may go by a figure that waits."""
        block = self.blocks[number]
        return block.lines == 1 and (block.keep or block.floats or self._lead[number] > 1 + _HAIR)

    def _parts(self, number: int) -> bool:
        """Whether a column may end after a block."""
        return (not self.blocks[number].keep or number + 1 == self.count or self.blocks[number + 1].floats)

    def _forced(self, at: Spot, room: float) -> End:
        """The end of a column whose first block has no room."""
        if at.held is not None:
            return End(Spot(at.block, at.line), room)
        block = self.blocks[at.block]
        line = at.line + max(1, floor(room / self._lead[at.block] + _HAIR))
        return End(Spot(at.block + 1, 0) if line >= block.lines else Spot(at.block, line), room)

    def column(self, at: Spot, after: Spot, extra: int = 0) -> Column:
        """The column between two spots, its spaces wider by so many lines in all: evenly, those that give them."""
        parts = list(self._between(at, after))
        given = [place for place, (number, _, _) in enumerate(parts) if place
                 for _ in range(self.blocks[number].gives)]
        more = [place for place, (number, _, _) in enumerate(parts) if place
                for _ in range(self.blocks[number].most - self.blocks[number].gives)]
        easily = min(extra, len(given))
        wider = [*_evenly(given, easily), *_evenly(more, extra - easily)]
        placed: list[Placed] = []
        y = 0.0
        for place, (number, first, last) in enumerate(parts):
            y += (self._before[number] if place else 0.0) + wider.count(place)
            placed.append(Placed(number, first, last, y * self.unit))
            y += (last - first) * self._lead[number]
        return tuple(placed)

    def _between(self, at: Spot, after: Spot) -> Iterator[tuple[int, int, int]]:
        """The parts of a column between two spots: block, first line, last line."""
        if at.held is not None:
            yield at.held, 0, 1
        line = at.line
        for number in range(at.block, min(after.block + 1, self.count)):
            last = after.line if number == after.block else self.blocks[number].lines
            if number != after.held and last > line:
                yield number, line, last
            line = 0


def _evenly(places: Sequence[int], count: int) -> list[int]:
    """So many of some places, as evenly as can be."""
    return [places[(2 * turn + 1) * len(places) // (2 * count)] for turn in range(count)]


def chunks(count: int, each: int) -> tuple[range, ...]:
    """The numbers 0..count-1 in runs of at most `each`."""
    return tuple(range(start, min(start + each, count)) for start in range(0, count, each))
