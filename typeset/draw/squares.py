"""The squares within a grid's frame: its cells, and before them, where sums need them, some more."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from cagework.solver.crossing import is_across
from cagework.solver.model import Cage, Cell, Puzzle

Sums = tuple[int | None, int | None]
"""The sums of the runs across and down that begin after a square."""


@dataclass(frozen=True, slots=True)
class Squares:
    """Rows and columns of squares, numbered as the grid's are. Row and column 0 hold the sums of runs that begin
    at the edge of the map.
    """

    top: int
    left: int
    bottom: int
    right: int

    @property
    def across(self) -> int:
        """How many squares wide the frame is."""
        return self.right - self.left + 1

    @property
    def down(self) -> int:
        """How many squares high it is."""
        return self.bottom - self.top + 1

    def __iter__(self) -> Iterator[Cell]:
        """All squares, row by row."""
        return (Cell(row, col) for row in range(self.top, self.bottom + 1)
                for col in range(self.left, self.right + 1))

    @property
    def most(self) -> int:
        """The larger of both."""
        return max(self.across, self.down)


def squares_of(puzzle: Puzzle, *, summed: bool = True) -> Squares:
    """The squares of a puzzle's frame, or of one without sums, which needs none before the map."""
    if puzzle.shape is None or not summed:
        return Squares(1, 1, puzzle.rows, puzzle.columns)
    before = sums_before(puzzle.cages)
    top, left = min([1, *(square.row for square in before)]), min([1, *(square.col for square in before)])
    return Squares(top, left, puzzle.rows, puzzle.columns)


def sums_before(cages: Collection[Cage]) -> Mapping[Cell, Sums]:
    """The squares before some runs, and their sums."""
    across = {Cell(cage.first.row, cage.first.col - 1): cage.total for cage in cages if is_across(cage.cells)}
    down = {Cell(cage.first.row - 1, cage.first.col): cage.total for cage in cages if not is_across(cage.cells)}
    return {square: (across.get(square), down.get(square)) for square in sorted({*across, *down})}
