"""The digits along a line add to a square number: a rule made up to try the recipe for a rule on cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isqrt
from typing import ClassVar

from cagework.solver.figure import Figure, Role, Spot, Stroke, middle
from cagework.solver.model import Cell, Sum
from cagework.solver.rule import Named, Rule, RuleError, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class SquareLine(RuleOnCells):
    """What the digits on the line make is the square of some number."""

    sentence: ClassVar[str] = "The digits along each line add to a square number, such as 4 or 9."
    takes: ClassVar[Takes] = Takes.LINE

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """No line is longer than a row."""
        if value is not None and len(value.cells) > size:
            raise RuleError(f"{len(value.cells)} cells are more than a row has", "shorten the line",
                            at=value.cells[size])
        return super(SquareLine, cls).read(size, value)

    @classmethod
    def example(cls, size: int) -> Named:
        """Over a corner and across an edge."""
        return Named((Cell(1, 1), Cell(2, 2), Cell(2, 3)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Its root is whole."""
        made = sum(digits[cell] for cell in self.named.cells)
        return isqrt(made)**2 == made

    def facts(self) -> tuple[Sum, ...]:
        """One sum, which makes one of the squares in reach."""
        cells = self.named.cells
        squares = (root**2 for root in range(1, len(cells) * self.size))
        return (Sum(cells, (), tuple(square for square in squares if square <= len(cells) * self.size)),)

    def figures(self) -> tuple[Figure, ...]:
        """A line through the middles, with a disc under its first digit."""
        return (Spot(middle(self.named.cells[0]), 0.34, Role.FIELD), Stroke(tuple(map(middle, self.named.cells))))
