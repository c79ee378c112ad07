"""Lines whose digits add to the digit in the circle where they begin (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Figure, Role, Spot, Stroke, middle
from cagework.solver.model import Cell, Sum
from cagework.solver.rule import Named, RuleError, RuleOnCells, Takes

_CIRCLE = 0.37
"""The radius of the circle, in cells."""


@dataclass(frozen=True, slots=True)
class SumLine(RuleOnCells):
    """The digits of all cells after the first, repeated ones too, add to that of the first."""

    sentence: ClassVar[str] = "The digits along a line add to the digit in the circle where it begins."
    by: ClassVar[str] = "by the line and its circle"
    takes: ClassVar[Takes] = Takes.LINE

    def check(self) -> None:
        """No line makes more than its circle can count."""
        cells, most = self.named.cells, self.digits[-1]
        if (len(cells) - 1) * self.least > most:
            raise RuleError(f"{len(cells) - 1} digits cannot add to {most} or less", "shorten the line",
                            at=cells[most + 1])

    @classmethod
    def example(cls, size: int) -> Named:
        """Down a column and over a corner."""
        return Named((Cell(1, 2), Cell(2, 2), Cell(3, 3)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As the circle counts."""
        circle, *line = [digits[cell] for cell in self.named.cells]
        return circle == sum(line)

    def facts(self) -> tuple[Sum, ...]:
        """The line less its circle is nothing."""
        circle, *line = self.named.cells
        return (Sum(tuple(line), (circle,), (0,)),)

    def figures(self) -> tuple[Figure, ...]:
        """A circle, and a fine line from its edge through the middles."""
        (x, y), *line = map(middle, self.named.cells)
        across, down = line[0][0] - x, line[0][1] - y
        share = _CIRCLE / (across**2 + down**2) ** 0.5
        return (Spot((x, y), _CIRCLE, Role.THREAD),
                Stroke(((x + across * share, y + down * share), *line), Role.THREAD))
