"""Numbers outside the grid that the digits of a diagonal add to (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Clue, Figure
from cagework.solver.model import Cell, Sum
from cagework.solver.rule import Named, RuleError, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class DiagonalSum(RuleOnCells):
    """The digits from the first cell to the last, repeated ones too, add to the number."""

    sentence: ClassVar[str] = (
        "A number outside the grid is the sum of the digits on the diagonal that its arrow points along; they may "
        "repeat.")
    by: ClassVar[str] = "by the number outside the grid"
    takes: ClassVar[Takes] = Takes.DIAGONAL

    def check(self) -> None:
        """It goes from edge to edge, and its digits can make that much."""
        _check(self.digits, self.named)

    @classmethod
    def example(cls, size: int) -> Named:
        """Three cells at the top left, from above."""
        return Named((Cell(1, 3), Cell(3, 1)), 8)

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As the number says."""
        return sum(digits[cell] for cell in _along(self.named)) == self.named.number

    def facts(self) -> tuple[Sum, ...]:
        """One sum."""
        assert self.named.number is not None, "it takes one"
        return (Sum(_along(self.named), (), (self.named.number,)),)

    def figures(self) -> tuple[Figure, ...]:
        """The number where the diagonal begins."""
        assert self.named.number is not None, "it takes one"
        return (Clue(_along(self.named), self.named.number),)


def _along(named: Named) -> tuple[Cell, ...]:
    """All cells of the diagonal."""
    first, last = named.cells
    down, right = (1 if end > start else -1 for start, end in zip(first, last, strict=True))
    return tuple(Cell(first.row + down * step, first.col + right * step)
                 for step in range(abs(last.row - first.row) + 1))


def _check(digits: range, named: Named) -> None:
    """Raise RuleError where the cells are not the ends of a diagonal, or its digits make less or more."""
    if len(named.cells) != 2:
        raise RuleError(f"a diagonal is named by its first cell and its last; here are {len(named.cells)}",
                        "name the cell where the number stands, then the other end")
    first, last = named.cells
    down, right = last.row - first.row, last.col - first.col
    long = abs(down) + 1
    if abs(down) != abs(right) or not all({1, len(digits)}.intersection(end) for end in (first, last)):
        raise RuleError(f"{first} and {last} are not the ends of a diagonal",
                        "name two cells at the edge of the grid, corner to corner with all between", at=last)
    least, most = long * digits[0], long * digits[-1]
    if named.number is not None and not least <= named.number <= most:
        raise RuleError(f"{long} digits add to {least} at the least and to {most} at the most", at="number")
