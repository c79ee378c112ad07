"""Fill columns with blocks: no widows, no orphans, no heading left behind. Any one unit of length serves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

_LEAST = 2
"""Fewest lines of a divided paragraph on either side of the division."""


@dataclass(frozen=True, slots=True)
class Block:
    """A thing of `lines` lines of `leading` each that a column may divide between lines.

    A figure is one line as high as itself. `before` is white above it, dropped at the head of a column;
    `keep` holds it to the start of the next block.
    """

    lines: int
    leading: float
    before: float = 0.0
    keep: bool = False


@dataclass(frozen=True, slots=True)
class Placed:
    """Lines `first` up to `last` (not included) of block number `block`, with their top at `y`."""

    block: int
    first: int
    last: int
    y: float


def fill(blocks: Sequence[Block], room: float) -> tuple[tuple[Placed, ...], ...]:
    """The columns, each of height `room`, that hold all blocks in order.

    A block that is higher than a whole column overflows it, alone.
    """
    columns: list[tuple[Placed, ...]] = []
    block, line = 0, 0
    while block < len(blocks):
        column = _fill_one(blocks, block, line, room)
        columns.append(column)
        block, line = column[-1].block, column[-1].last
        if line == blocks[block].lines:
            block, line = block + 1, 0
    return tuple(columns)


def _fill_one(blocks: Sequence[Block], block: int, line: int, room: float) -> tuple[Placed, ...]:
    placed: list[Placed] = []
    y = 0.0
    while block < len(blocks):
        this = blocks[block]
        top = y + this.before if placed else 0.0
        count = _lines_that_fit(this, line, room - top)
        if count == 0:
            break
        placed.append(Placed(block, line, line + count, top))
        y = top + count * this.leading
        if line + count < this.lines:
            return tuple(placed)
        block, line = block + 1, 0
    if block < len(blocks):
        while len(placed) > 1 and blocks[placed[-1].block].keep:
            placed.pop()
    return tuple(placed) or (Placed(block, line, _forced(blocks[block], line, room), 0.0),)


def _lines_that_fit(block: Block, first: int, room: float) -> int:
    """How many of a block's remaining lines go into `room`, 0 where dividing it would leave a line alone."""
    rest = block.lines - first
    fitting = int(room / block.leading + 1e-6)
    if fitting >= rest:
        return rest
    taken = min(fitting, rest - _LEAST)
    return taken if taken >= _LEAST else 0


def _forced(block: Block, first: int, room: float) -> int:
    return min(block.lines, first + max(1, int(room / block.leading)))


def chunks(count: int, each: int) -> tuple[range, ...]:
    """The numbers 0..count-1 in runs of at most `each`."""
    return tuple(range(start, min(start + each, count)) for start in range(0, count, each))
