"""Marks between neighbouring cells whose digits are consecutive (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from cagework.solver.figure import Figure, Role, dot
from cagework.solver.model import Cell, Pair
from cagework.solver.rule import Named, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class Consecutive(RuleOnCells):
    """The digits of each cell named and the next differ by one."""

    sentence: ClassVar[str] = "Cells with a white dot between them hold consecutive digits, such as 3 and 4."
    by: ClassVar[str] = "by the white dot"
    takes: ClassVar[Takes] = Takes.BESIDE

    @classmethod
    def example(cls, size: int) -> Named:
        """Two marks in a row."""
        return Named((Cell(2, 1), Cell(2, 2), Cell(2, 3)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As marked, from cell to cell."""
        along = [digits[cell] for cell in self.named.cells]
        return all(abs(x - y) == 1 for x, y in pairwise(along))

    def facts(self) -> tuple[Pair, ...]:
        """A pair for each mark."""
        return tuple(Pair.of(one, other, self.digits, lambda x, y: abs(x - y) == 1)
                     for one, other in pairwise(self.named.cells))

    def figures(self) -> tuple[Figure, ...]:
        """A white dot on each side."""
        return tuple(figure for one, other in pairwise(self.named.cells) for figure in dot(one, other, Role.OPEN))
