"""Fill columns with blocks: no widows, no orphans, no heading left behind. Any one unit of length serves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

_HALVINGS = 12
"""How often the height of level columns is halved: to a four-thousandth of a page."""
_LEAST = 2
"""Fewest lines of a divided paragraph on either side of the division."""


@dataclass(frozen=True, slots=True)
class Block:
    """A thing of `lines` lines of `leading` each that a column may divide between lines.

    A figure is one line as high as itself. `before` is white above it, dropped at the head of a column;
    `keep` holds it, or the end of it, to the start of the next block. One that is `wide` stands across all columns
    of a page. A figure that `floats` may wait for the head of the next column while the paragraph after it begins.
    One that is `whole` is not divided, unless it is higher than a column.
    """

    lines: int
    leading: float
    before: float = 0.0
    keep: bool = False
    wide: bool = False
    floats: bool = False
    whole: bool = False


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


Column = tuple[Placed, ...]
Band = tuple[Column, ...]
"""Columns side by side, or one that is across them all: the only block in it is wide."""


def fill(blocks: Sequence[Block], room: float) -> tuple[Column, ...]:
    """The columns, each of height `room`, that hold all blocks in order.

    A block that is higher than a whole column overflows it, alone.
    """
    columns: list[Column] = []
    at = Spot(0, 0)
    while at.held is not None or at.block < len(blocks):
        column, at = _fill_one(blocks, at, room)
        columns.append(column)
    return tuple(columns)


def fill_pages(
    blocks: Sequence[Block], room: float, columns: int, taken: float = 0.0,
) -> tuple[tuple[Band, ...], ...]:
    """The pages, each of height `room` and so many columns, that hold all blocks in order: bands, one under the
    other, wide blocks between them. `y` counts from the page's top, of which the first page has `taken` filled.

    What is before a wide block on its page stands in columns of about the same height. A wide block that must go
    on to the next page leaves white behind.
    """
    pages = _Pages(blocks, room, columns, taken)
    at = Spot(0, 0)
    while at.held is not None or at.block < len(blocks):
        wide = next((number for number in range(at.block, len(blocks)) if blocks[number].wide), len(blocks))
        at = pages.narrow(at, wide) if at.held is not None or at.block < wide else pages.across(wide)
    return tuple(map(tuple, pages.done if pages.done[-1] else pages.done[:-1]))


class _Pages:
    """Pages under way."""

    def __init__(self, blocks: Sequence[Block], room: float, columns: int, taken: float) -> None:
        self._blocks, self._room, self._columns = blocks, room, columns
        self.done: list[list[Band]] = [[]]
        self._y = taken

    def narrow(self, at: Spot, wide: int) -> Spot:
        """Set the blocks before a wide one, or of them what this page has room for; where to go on."""
        last = wide == len(self._blocks)
        kept = wide
        while not last and kept > at.block and self._blocks[kept - 1].keep:
            kept -= 1
        if kept == at.block and at.held is None and not last:       # all that is left belongs to the wide block
            kept = wide
            if self._y + sum(map(self._height, range(at.block, wide + 1))) > self._room:
                self._turn()
        run = self._blocks[:kept]
        band, after = self._band(run, at, self._room - self._y)
        if not band:
            self._turn()
            return at
        done = after.block == kept and after.held is None
        if done and not last:
            band = self._level(run, at, band)
        self._put(band, max(map(self._foot, band)))
        if not done:
            self._turn()
        return after

    def across(self, wide: int) -> Spot:
        """Set a wide block, with the first lines of what it is kept with."""
        follows = self._blocks[wide + 1:wide + 2] if self._blocks[wide].keep else ()
        more = sum(one.before + min(one.lines, _LEAST) * one.leading for one in follows)
        if self._y + self._height(wide) + more > self._room:
            self._turn()
        top = self._blocks[wide].before if self._y else 0.0
        self._put(((Placed(wide, 0, 1, top),),), top + self._blocks[wide].leading)
        return Spot(wide + 1, 0)

    def _height(self, number: int) -> float:
        block = self._blocks[number]
        return block.before + block.lines * block.leading

    def _foot(self, column: Column) -> float:
        last = column[-1]
        return last.y + (last.last - last.first) * self._blocks[last.block].leading

    def _put(self, band: Band, height: float) -> None:
        self.done[-1].append(tuple([_lowered(column, self._y) for column in band]))
        self._y += height

    def _turn(self) -> None:
        """Go on to the next page, if anything stands on this."""
        if self._y:
            self.done.append([])
            self._y = 0.0

    def _band(self, run: Sequence[Block], at: Spot, room: float) -> tuple[Band, Spot]:
        """As many columns as there are, of a height, or fewer that hold all of a run, and where to go on; none
        where there is no room under what stands on the page already.
        """
        band: list[Column] = []
        lead = run[at.block if at.held is None else at.held].before if self._y else 0.0
        while (at.held is not None or at.block < len(run)) and len(band) < self._columns:
            column, after = _fill_one(run, at, room - lead, forced=not self._y)
            if not column:
                break
            band.append(_lowered(column, lead))
            at = after
        return tuple(band), at

    def _level(self, run: Sequence[Block], at: Spot, band: Band) -> Band:
        """The same as lowest columns."""
        high, low = max(map(self._foot, band)), 0.0
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            tried, after = self._band(run, at, middle)
            if tried and after == (len(run), 0, None) and max(map(self._foot, tried)) <= middle:
                band, high = tried, middle
            else:
                low = middle
        return band


def _fill_one(blocks: Sequence[Block], at: Spot, room: float, *, forced: bool = True) -> tuple[Column, Spot]:
    """One column, and where to go on; where it holds not even the first block it is empty, or where `forced` that
    block overflows.
    """
    placed: list[Placed] = []
    block, line, held = at.block, at.line, None
    if at.held is not None:
        if blocks[at.held].leading > room and not forced:
            return (), at
        placed.append(Placed(at.held, 0, 1, 0.0))
    while block < len(blocks):
        this = blocks[block]
        top = _foot(blocks, placed) + this.before if placed else 0.0
        count = 0 if held is not None and this.lines == 1 else _lines_that_fit(this, line, room - top)
        if count:
            placed.append(Placed(block, line, line + count, top))
            if line + count < this.lines:
                return tuple(placed), Spot(block, line + count, held)
        elif this.floats and placed and held is None:
            held = block
        else:
            break
        block, line = block + 1, 0
    if block < len(blocks):
        _let_go(blocks, placed, forced)
    if placed:
        return tuple(placed), _after(blocks, placed[-1], at, held)
    if not forced:
        return (), at
    last = _forced(blocks[block], line, room)
    return (Placed(block, line, last, 0.0),), _after(blocks, Placed(block, line, last, 0.0), at, None)


def _lowered(column: Column, by: float) -> Column:
    """The column as much lower down."""
    return tuple([Placed(part.block, part.first, part.last, part.y + by) for part in column]) if by else column


def _foot(blocks: Sequence[Block], placed: Sequence[Placed]) -> float:
    """Where what is placed last ends."""
    last = placed[-1]
    return last.y + (last.last - last.first) * blocks[last.block].leading


def _let_go(blocks: Sequence[Block], placed: list[Placed], forced: bool) -> None:
    """Take from the foot of a column what is kept to a block that did not fit."""
    while len(placed) > forced and blocks[placed[-1].block].keep:
        last = placed.pop()
        stays = last.last - _LEAST      # its end alone goes along with what it is kept to
        if stays - last.first >= _LEAST and not blocks[last.block].whole:
            placed.append(replace(last, last=stays))
            break


def _after(blocks: Sequence[Block], last: Placed, at: Spot, held: int | None) -> Spot:
    """Where to go on after what is placed last of a column that began at a spot; `held` is no longer where nothing
    after it is placed.
    """
    if last.block == at.held:
        return Spot(at.block, at.line)
    block, line = (last.block + 1, 0) if last.last == blocks[last.block].lines else (last.block, last.last)
    return Spot(block, line, held if held is not None and last.block > held else None)


def _lines_that_fit(block: Block, first: int, room: float) -> int:
    """How many of a block's remaining lines go into `room`, 0 where dividing it would leave a line alone."""
    rest = block.lines - first
    fitting = int(room / block.leading + 1e-6)
    if fitting >= rest:
        return rest
    if block.whole:
        return 0
    taken = min(fitting, rest - _LEAST)
    return taken if taken >= _LEAST else 0


def _forced(block: Block, first: int, room: float) -> int:
    return min(block.lines, first + max(1, int(room / block.leading)))


def chunks(count: int, each: int) -> tuple[range, ...]:
    """The numbers 0..count-1 in runs of at most `each`."""
    return tuple(range(start, min(start + each, count)) for start in range(0, count, each))
