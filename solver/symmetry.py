"""When two puzzles are one: turns and mirrors of the grid, and the complement of digits, least for greatest and so
on; and where digits only have to differ, as without any sums, every exchange of digits.

Every fact is compared: houses by their cells alone (names and kinds do not matter), cages with their
totals, givens, domains, and pairs, sums and ends of lines in either orientation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from cagework.solver.model import Cell, Pair, Puzzle, Sum, counted

Key = tuple[object, ...]
"""A hashable statement of all of a puzzle's facts, ordered so that equal facts give equal keys."""


class Motion(StrEnum):
    """The eight symmetries of the square, simplest first; the text completes 'the same puzzle, …'."""

    NONE = "not moved"
    QUARTER_RIGHT = "turned a quarter to the right"
    HALF = "turned by half"
    QUARTER_LEFT = "turned a quarter to the left"
    LEFT_RIGHT = "mirrored left to right"
    TOP_BOTTOM = "mirrored top to bottom"
    FALLING = "mirrored in the falling diagonal"
    RISING = "mirrored in the rising diagonal"


_Mover = Callable[[int, int, int, int], tuple[int, int]]

_MOVERS: dict[Motion, _Mover] = {
    Motion.NONE: lambda row, col, high, wide: (row, col),
    Motion.QUARTER_RIGHT: lambda row, col, high, wide: (col, high - row),
    Motion.HALF: lambda row, col, high, wide: (high - row, wide - col),
    Motion.QUARTER_LEFT: lambda row, col, high, wide: (wide - col, row),
    Motion.LEFT_RIGHT: lambda row, col, high, wide: (row, wide - col),
    Motion.TOP_BOTTOM: lambda row, col, high, wide: (high - row, col),
    Motion.FALLING: lambda row, col, high, wide: (col, row),
    Motion.RISING: lambda row, col, high, wide: (wide - col, high - row),
}
"""Each motion on (row, column), where `high` is the number of rows and one more, `wide` that of columns."""


def moved(cell: Cell, motion: Motion, size: int) -> Cell:
    """Where a motion takes a cell of a square of side `size`."""
    return cell if motion is Motion.NONE else Cell(*_MOVERS[motion](cell.row, cell.col, size + 1, size + 1))


@dataclass(frozen=True, slots=True)
class Relation:
    """How one puzzle becomes another: move the cells, then complement the digits if `complemented`, or give them
    other names if `renamed`.
    """

    motion: Motion
    complemented: bool
    renamed: bool = False

    def __str__(self) -> str:
        """Words that say how, such as 'turned by half'."""
        if not self.complemented and not self.renamed:
            return "identical" if self.motion is Motion.NONE else self.motion.value
        swapped = "its digits exchanged" if self.renamed else "each digit taken from the least plus the greatest"
        return swapped if self.motion is Motion.NONE else f"{self.motion.value}, {swapped}"


def likeness(puzzle: Puzzle) -> Key:
    """Return a key, soon found, that is equal where `canonical` is; where it is not, it seldom is."""
    cages = {(frozenset(cage.cells), cage.total) for cage in counted(puzzle).cages}
    plain = [(len(cells), -1 if total is None else total) for cells, total in cages]
    complemented = [(count, total if total < 0 else count * (puzzle.size + 1) - total) for count, total in plain]
    return puzzle.size, puzzle.least, len(puzzle.cells), tuple(min(sorted(plain), sorted(complemented)))


@lru_cache(maxsize=1 << 10)
def canonical(puzzle: Puzzle) -> Key:
    """Return a key equal for two puzzles exactly when one is the other turned, mirrored or complemented; or with
    its digits exchanged, where they only have to differ.
    """
    if _digits_are_names(puzzle):
        return min(_image(puzzle, Relation(motion, False, True)) for motion in Motion)
    return min(
        _image(puzzle, Relation(motion, complemented)) for motion in Motion for complemented in (False, True)
    )


def _digits_are_names(puzzle: Puzzle) -> bool:
    """Whether nothing is asked of digits but that they differ."""
    every = (1 << puzzle.size) - 1
    differ = tuple(every & ~(1 << digit) for digit in range(puzzle.size))
    return (not (puzzle.sums or puzzle.domains or puzzle.betweens)
            and all(cage.total is None for cage in puzzle.cages)
            and all(pair.allowed == differ for pair in puzzle.pairs))


def relation(a: Puzzle, b: Puzzle) -> Relation | None:
    """Return the simplest relation that makes `b` of `a`; None where they are different puzzles."""
    if a.digits != b.digits or len(a.cells) != len(b.cells):
        return None
    target = _image(b, Relation(Motion.NONE, False))
    for complemented in (False, True):
        for motion in Motion:
            found = Relation(motion, complemented)
            if _image(a, found) == target:
                return found
    if _digits_are_names(a) and _digits_are_names(b):
        target = _image(b, Relation(Motion.NONE, False, True))
        return next((found for motion in Motion
                     if _image(a, found := Relation(motion, False, True)) == target), None)
    return None


def _image(puzzle: Puzzle, relation: Relation) -> Key:
    """All facts after the relation, in one order; digits are counted from 1."""
    size, least = puzzle.size, puzzle.least
    puzzle = counted(puzzle)
    move = _MOVERS[relation.motion]
    # Black squares beside the outermost cells change nothing.
    top, left, bottom, right = _bounds(puzzle)
    high, wide = bottom - top + 2, right - left + 2
    across = max(high, wide)

    def at(cell: Cell) -> int:
        row, col = move(cell.row - top + 1, cell.col - left + 1, high, wide)
        return row * across + col

    def total(sum_: int | None, count: int) -> int:
        if sum_ is None:
            return -1
        return count * (size + 1) - sum_ if relation.complemented else sum_

    houses = {tuple(sorted(map(at, house.cells))) for house in puzzle.houses}
    cages = {
        (tuple(sorted(map(at, cage.cells))), total(cage.total, len(cage.cells))) for cage in puzzle.cages
    }
    givens = {
        (at(given.cell), size + 1 - given.digit if relation.complemented else given.digit)
        for given in puzzle.givens
    }
    if relation.renamed:        # by the order in which they are met
        names: dict[int, int] = {}
        givens = {(cell, names.setdefault(digit, len(names))) for cell, digit in sorted(givens)}
    pairs = {_pair_key(pair, at, size, relation.complemented) for pair in puzzle.pairs}
    sums = {_sum_key(one, at, size, relation.complemented) for one in puzzle.sums}
    domains = {(at(domain.cell), _complemented(domain.digits, size) if relation.complemented else domain.digits)
               for domain in puzzle.domains}
    betweens = {(tuple(sorted(map(at, one.ends))), tuple(sorted(map(at, one.inner)))) for one in puzzle.betweens}
    cells = set() if puzzle.shape is None else {at(cell) for cell in puzzle.cells}
    return (size, least, *(tuple(sorted(facts)) for facts in (
        cells, houses, cages, givens, pairs, sums, domains, betweens)))


def _bounds(puzzle: Puzzle) -> tuple[int, int, int, int]:
    """The first row and column with a cell, and the last."""
    if puzzle.shape is None:
        return 1, 1, puzzle.size, puzzle.size
    rows, columns = zip(*puzzle.shape.cells, strict=True)
    return min(rows), min(columns), max(rows), max(columns)


def _complemented(digits: int, size: int) -> int:
    """A mask with each digit complemented."""
    return int(f"{digits:0{size}b}"[::-1], 2)


def _sum_key(
    one: Sum, at: Callable[[Cell], int], size: int, complemented: bool
) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    """The sum's cells in index order and its totals, one of both ways to say it."""
    plus, minus = tuple(sorted(map(at, one.plus))), tuple(sorted(map(at, one.minus)))
    totals = one.totals
    if complemented:
        most = (len(plus) - len(minus)) * (size + 1)
        totals = tuple([most - total for total in reversed(totals)])
    return min((plus, minus, totals), (minus, plus, tuple([-total for total in reversed(totals)])))


def _pair_key(
    pair: Pair, at: Callable[[Cell], int], size: int, complemented: bool
) -> tuple[int, int, tuple[int, ...]]:
    """The pair's two cells in index order, and its table read from the first of them."""
    table = pair.allowed
    if complemented:
        table = tuple(_complemented(mask, size) for mask in reversed(table))
    first, second = at(pair.first), at(pair.second)
    if first < second:
        return first, second, table
    turned = tuple(sum((mask >> y & 1) << x for x, mask in enumerate(table)) for y in range(size))
    return second, first, turned
