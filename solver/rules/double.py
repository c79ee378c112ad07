"""Marks between neighbouring cells whose digits are one the double of the other (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from cagework.solver.figure import Figure, Role, dot
from cagework.solver.model import Cell, Pair
from cagework.solver.rule import Named, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class Double(RuleOnCells):
    """The digits of each cell named and the next are one twice the other."""

    sentence: ClassVar[str] = "Of two cells with a black dot between them one holds twice the digit of the other."
    by: ClassVar[str] = "by the black dot"
    takes: ClassVar[Takes] = Takes.BESIDE

    @classmethod
    def example(cls, size: int) -> Named:
        """Two marks in a row."""
        return Named((Cell(2, 1), Cell(2, 2), Cell(2, 3)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As marked, from cell to cell."""
        along = [digits[cell] for cell in self.named.cells]
        return all(x == 2 * y or y == 2 * x for x, y in pairwise(along))

    def facts(self) -> tuple[Pair, ...]:
        """A pair for each mark."""
        return tuple(Pair.of(one, other, self.digits, lambda x, y: x == 2 * y or y == 2 * x)
                     for one, other in pairwise(self.named.cells))

    def figures(self) -> tuple[Figure, ...]:
        """A black dot on each side."""
        return tuple(figure for one, other in pairwise(self.named.cells) for figure in dot(one, other, Role.SOLID))
