"""What a puzzle is: cells, houses, cages, sums, domains, givens and pairs, as plain frozen facts.

Everything a rule means is lowered to these few kinds of fact; the search, the reasoner and the
writers know nothing else. Rows and columns count from 1 at the top left; there are `size` digits, which run from
1 where no rule says otherwise, and the cells are those of a square of that side, or of any shape.

Sums and givens have digits as they are printed; in a mask bit d - 1 stands for the d-th digit, whatever that is.
Search, reasoner and proof count digits from 1: `counted` is a puzzle as they see it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from cagework.solver.errors import PuzzleError

BOXES: dict[int, tuple[int, int]] = {
    4: (2, 2), 6: (2, 3), 8: (2, 4), 9: (3, 3), 10: (2, 5), 12: (3, 4), 16: (4, 4),
}
"""Size -> (rows, columns) of its usual box, in cells. Grids of other sizes have none."""

SIZES = range(4, 17)
"""The sizes a puzzle may have."""

_CELL = re.compile(r"r([1-9]\d?)c([1-9]\d?)")
_LETTERS = "0123456789ABCDEFG."

BLACK = -1
"""What stands in an answer where there is no cell."""

_SHOWN_DIGITS, _SHOWN_CELLS = 81, 9
"""How much of a long list is shown where something is shown for a look at it."""


class Cell(NamedTuple):
    """One square of the grid, by row and column from 1 at the top left."""

    row: int
    col: int

    def __str__(self) -> str:
        return f"r{self.row}c{self.col}"

    @classmethod
    def parse(cls, text: str) -> Cell:
        """Read ``r1c1``. Raises PuzzleError on any other form; the grid's size is not checked here."""
        found = _CELL.fullmatch(text)
        if not found:
            raise PuzzleError(f"'{text}' is not a cell")
        return cls(int(found[1]), int(found[2]))

    def neighbours(self) -> Iterator[Cell]:
        """Yield the four cells that share an edge with this one, off the grid or not."""
        for down, right in ((-1, 0), (0, -1), (0, 1), (1, 0)):
            yield Cell(self.row + down, self.col + right)


class HouseKind(StrEnum):
    """Where a house comes from; the words and the drawing differ, the meaning does not."""

    ROW = "row"
    COLUMN = "column"
    REGION = "region"
    EXTRA = "extra"


@dataclass(frozen=True, slots=True)
class House:
    """Cells that hold each digit at most once; a house of `size` cells holds every digit."""

    name: str
    kind: HouseKind
    cells: tuple[Cell, ...]

    def __repr__(self) -> str:
        return f"House({self.name}: {_few(self.cells)})"


@dataclass(frozen=True, slots=True)
class Cage:
    """Cells with distinct digits that add to `total`, or to anything where `total` is None."""

    cells: tuple[Cell, ...]
    total: int | None

    def __repr__(self) -> str:
        return f"Cage({self.total}: {_few(self.cells)})"

    @property
    def first(self) -> Cell:
        """The cell that carries the printed sum: top row, then leftmost."""
        return min(self.cells)

    def raised(self, by: int) -> Cage:
        """The cage where each digit is so much more."""
        return self if self.total is None or not by else Cage(self.cells, self.total + by * len(self.cells))


@dataclass(frozen=True, slots=True)
class Sum:
    """That the digits of `plus`, less those of `minus`, make one of some totals, which rise.

    Digits may repeat; no cell stands there twice.
    """

    plus: tuple[Cell, ...]
    minus: tuple[Cell, ...]
    totals: tuple[int, ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """All its cells."""
        return self.plus + self.minus

    def raised(self, by: int) -> Sum:
        """The sum where each digit is so much more."""
        more = by * (len(self.plus) - len(self.minus))
        return Sum(self.plus, self.minus, tuple([total + more for total in self.totals])) if more else self


@dataclass(frozen=True, slots=True)
class Between:
    """That each digit of `inner` is greater than that of one end and less than the other's, whichever it is.

    No cell stands there twice.
    """

    ends: tuple[Cell, Cell]
    inner: tuple[Cell, ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """All its cells, the ends first."""
        return self.ends + self.inner


@dataclass(frozen=True, slots=True)
class Domain:
    """The digits that a cell may hold, as a mask (bit d - 1 stands for the d-th digit)."""

    cell: Cell
    digits: int


@dataclass(frozen=True, slots=True)
class LeastDigit:
    """The digit from which all digits of a puzzle run."""

    digit: int


@dataclass(frozen=True, slots=True)
class Given:
    """A digit printed in its cell."""

    cell: Cell
    digit: int


@dataclass(frozen=True, slots=True)
class Pair:
    """A relation between two cells: `allowed[x - 1]` is the set of digits that `second` may hold
    when `first` holds the x-th, as a bit mask (bit d - 1 stands for the d-th digit).
    """

    first: Cell
    second: Cell
    allowed: tuple[int, ...]

    @classmethod
    def of(cls, first: Cell, second: Cell, digits: Sequence[int], holds: Callable[[int, int], bool]) -> Pair:
        """Tabulate `holds(x, y)` over the digits of a puzzle."""
        masks = (sum(1 << place for place, y in enumerate(digits) if holds(x, y)) for x in digits)
        return cls(first, second, tuple(masks))


@dataclass(frozen=True, slots=True)
class Shape:
    """A rectangle of squares and those that are cells, row by row; the others are black, and hold nothing."""

    rows: int
    columns: int
    cells: tuple[Cell, ...]

    def __repr__(self) -> str:
        return f"Shape({self.rows} x {self.columns}, {len(self.cells)} cells)"

    @property
    def black(self) -> tuple[Cell, ...]:
        """The squares that are no cells, row by row."""
        white = set(self.cells)
        return tuple([cell for row in range(1, self.rows + 1) for col in range(1, self.columns + 1)
                      if (cell := Cell(row, col)) not in white])


@dataclass(frozen=True, slots=True)
class Puzzle:
    """Cells that hold `size` digits, of which `least` is the least, with everything that constrains them. Rows,
    columns and regions are in `houses` like any other; `pairs` holds relations that are neither house nor cage,
    `sums` what cells make whose digits may repeat, `domains` what single cells may hold, and `betweens` lines
    whose ends bound the cells between. Without a `shape` the grid is a square of size x size cells.
    """

    size: int
    houses: tuple[House, ...]
    cages: tuple[Cage, ...]
    givens: tuple[Given, ...] = ()
    pairs: tuple[Pair, ...] = ()
    sums: tuple[Sum, ...] = ()
    domains: tuple[Domain, ...] = ()
    shape: Shape | None = None
    betweens: tuple[Between, ...] = ()
    least: int = 1

    @property
    def digits(self) -> range:
        """The digits, as they are printed."""
        return range(self.least, self.least + self.size)

    def __repr__(self) -> str:
        counts = {"houses": self.houses, "cages": self.cages, "givens": self.givens, "pairs": self.pairs,
                  "sums": self.sums, "domains": self.domains, "betweens": self.betweens}
        facts = [f"{len(facts)} {name}" for name, facts in counts.items() if facts]
        return f"Puzzle({', '.join([f'{self.rows} x {self.columns}', *facts])})"

    @property
    def cells(self) -> tuple[Cell, ...]:
        """All cells, row by row."""
        return grid_cells(self.size) if self.shape is None else self.shape.cells

    @property
    def rows(self) -> int:
        """Rows of the grid."""
        return self.size if self.shape is None else self.shape.rows

    @property
    def columns(self) -> int:
        """Columns of the grid."""
        return self.size if self.shape is None else self.shape.columns

    @property
    def extent(self) -> str:
        """How large the grid is, in words: `9`, or `12 x 10` rows and columns."""
        return str(self.size) if self.shape is None else f"{self.shape.rows} x {self.shape.columns}"

    def answer(self, digits: Sequence[int]) -> Answer:
        """The grid with these digits in its cells, in their order."""
        if self.shape is None:
            return Answer(self.size, tuple(digits))
        held = [BLACK] * (self.rows * self.columns)
        for (row, col), digit in zip(self.shape.cells, digits, strict=True):
            held[(row - 1) * self.columns + col - 1] = digit
        return Answer(self.columns, tuple(held))

    @property
    def regions(self) -> tuple[House, ...]:
        """The houses drawn with heavy outlines: boxes, or what replaces them."""
        return tuple(house for house in self.houses if house.kind is HouseKind.REGION)

    @property
    def own_regions(self) -> tuple[tuple[Cell, ...], ...]:
        """The cells of the regions where they are not the usual boxes; none where they are."""
        own = tuple(house.cells for house in self.regions)
        usual = boxes(self.size) if own and self.size in BOXES else ()
        return () if {frozenset(one) for one in own} == {frozenset(one) for one in usual} else own


@dataclass(frozen=True, slots=True)
class Answer:
    """A completed grid: `digits` row by row as printed, so many to a row; BLACK where there is no cell."""

    columns: int
    digits: tuple[int, ...]

    def __repr__(self) -> str:
        text = str(self)
        shown = text if len(text) <= _SHOWN_DIGITS else text[:_SHOWN_DIGITS] + "…"
        return f"Answer({len(text) // max(1, self.columns)} x {self.columns}, {shown})"

    def at(self, cell: Cell) -> int:
        """The digit in `cell`. Raises PuzzleError where that is off the grid."""
        row, col = cell
        place = (row - 1) * self.columns + col - 1
        if not (0 < col <= self.columns and 0 <= place < len(self.digits)):
            raise PuzzleError(f"{cell} is not on the grid")
        return self.digits[place]

    def __str__(self) -> str:
        return "".join(_LETTERS[digit] for digit in self.digits)


def counted(puzzle: Puzzle) -> Puzzle:
    """The puzzle with its digits counted from 1, and sums to match."""
    return puzzle if puzzle.least == 1 else _counted(puzzle)


@lru_cache(maxsize=64)
def _counted(puzzle: Puzzle) -> Puzzle:
    """The same each time: that its facts are its own is soon seen."""
    by = 1 - puzzle.least
    return replace(
        puzzle, least=1, givens=tuple([Given(one.cell, one.digit + by) for one in puzzle.givens]),
        cages=tuple([one.raised(by) for one in puzzle.cages]), sums=tuple([one.raised(by) for one in puzzle.sums]))


def _few(cells: Sequence[Cell]) -> str:
    shown = " ".join(map(str, cells[:_SHOWN_CELLS]))
    return f"{shown} …" if len(cells) > _SHOWN_CELLS else shown


@lru_cache(maxsize=16)
def grid_cells(size: int) -> tuple[Cell, ...]:
    """All cells of a grid, row by row."""
    return tuple(Cell(row, col) for row in range(1, size + 1) for col in range(1, size + 1))


@lru_cache(maxsize=16)
def numbered(cells: tuple[Cell, ...]) -> Mapping[Cell, int]:
    """Cells by number, from 0 in their order."""
    return {cell: number for number, cell in enumerate(cells)}


def connected(cells: Iterable[Cell]) -> bool:
    """Whether cells hang together edge to edge."""
    rest = set(cells)
    front = [rest.pop()] if rest else []
    while front:
        near = [cell for cell in front.pop().neighbours() if cell in rest]
        rest.difference_update(near)
        front.extend(near)
    return not rest


def boxes(size: int) -> tuple[tuple[Cell, ...], ...]:
    """The usual boxes of a grid, left to right and top to bottom. Raises PuzzleError for a size not in BOXES."""
    if size not in BOXES:
        raise PuzzleError(f"a {size} x {size} grid has no usual boxes: say its regions, or that it has none")
    high, wide = BOXES[size]
    cells = grid_cells(size)
    return tuple(
        tuple(cells[row * size + col] for row in range(top, top + high) for col in range(left, left + wide))
        for top in range(0, size, high)
        for left in range(0, size, wide)
    )


def standard_houses(size: int, regions: Iterable[Iterable[Cell]] | None = None) -> tuple[House, ...]:
    """Rows, columns and regions of a grid, of which there may be none; the usual boxes where `regions` is None.

    Raises PuzzleError where it is and the size has none.
    """
    return _usual_houses(size) if regions is None else _houses(size, "region", regions)


@lru_cache(maxsize=16)
def _usual_houses(size: int) -> tuple[House, ...]:
    """Rows, columns and boxes, made once: puzzles that share them are soon seen to lie on the same ground."""
    return _houses(size, "box", boxes(size))


def _houses(size: int, word: str, parts: Iterable[Iterable[Cell]]) -> tuple[House, ...]:
    cells, span = grid_cells(size), range(size)
    rows = (House(f"row {r + 1}", HouseKind.ROW, cells[r * size:(r + 1) * size]) for r in span)
    columns = (House(f"column {c + 1}", HouseKind.COLUMN, cells[c::size]) for c in span)
    areas = (House(f"{word} {n}", HouseKind.REGION, tuple(sorted(part))) for n, part in enumerate(parts, 1))
    return (*rows, *columns, *areas)
