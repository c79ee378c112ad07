"""Lines whose digits lie between those in the circles at their ends (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Figure, Role, Spot, Stroke, middle
from cagework.solver.model import Between, Cell
from cagework.solver.rule import Named, Rule, RuleError, RuleOnCells, Takes

_CIRCLE = 0.37
"""The radius of the circles, in cells."""


@dataclass(frozen=True, slots=True)
class BetweenLine(RuleOnCells):
    """Each digit on the line is greater than that of the one end and less than that of the other."""

    sentence: ClassVar[str] = (
        "Along a line with a circle at both ends each digit is greater than that in the one circle and less than "
        "that in the other.")
    by: ClassVar[str] = "by the line and its two circles"
    takes: ClassVar[Takes] = Takes.LINE

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """Something lies between the ends."""
        if value is not None and len(value.cells) == 2:
            raise RuleError("no cell lies between the ends of this line", "make the line longer",
                            at=value.cells[1])
        return super(BetweenLine, cls).read(size, value)

    @classmethod
    def example(cls, size: int) -> Named:
        """Down a column, over a corner and on."""
        return Named((Cell(1, 2), Cell(2, 2), Cell(3, 3), Cell(3, 4)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As the circles bound it."""
        first, *line, last = [digits[cell] for cell in self.named.cells]
        return all(first < digit < last or last < digit < first for digit in line)

    def facts(self) -> tuple[Between, ...]:
        """One line."""
        first, *line, last = self.named.cells
        return (Between((first, last), tuple(line)),)

    def figures(self) -> tuple[Figure, ...]:
        """A circle at each end, and a fine line from the one's edge through the middles to the other's."""
        points = [middle(cell) for cell in self.named.cells]
        ends = points[0], points[-1]
        points[0], points[-1] = _edge(*points[:2]), _edge(*points[:-3:-1])
        return (*(Spot(end, _CIRCLE, Role.THREAD) for end in ends), Stroke(tuple(points), Role.THREAD))


def _edge(end: tuple[float, float], near: tuple[float, float]) -> tuple[float, float]:
    """Where a line from the middle of a circle leaves it."""
    across, down = near[0] - end[0], near[1] - end[1]
    share = _CIRCLE / (across**2 + down**2) ** 0.5
    return end[0] + across * share, end[1] + down * share
