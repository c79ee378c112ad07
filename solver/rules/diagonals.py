"""Both long diagonals are houses (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Figure, Stroke
from cagework.solver.model import Cell, House, HouseKind
from cagework.solver.rule import Rule


@dataclass(frozen=True, slots=True)
class Diagonals(Rule):
    """Each long diagonal holds every digit once."""

    sentence: ClassVar[str] = "Each of the two long diagonals also holds every digit from {least} to {most} once."

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Both diagonals hold `size` different digits."""
        span = range(1, self.size + 1)
        falling = {digits[Cell(i, i)] for i in span}
        rising = {digits[Cell(i, self.size + 1 - i)] for i in span}
        return len(falling) == len(rising) == self.size

    def facts(self) -> tuple[House, ...]:
        """Two houses."""
        span = range(1, self.size + 1)
        falling = tuple(Cell(i, i) for i in span)
        rising = tuple(Cell(i, self.size + 1 - i) for i in span)
        return (
            House("falling diagonal", HouseKind.EXTRA, falling),
            House("rising diagonal", HouseKind.EXTRA, rising),
        )

    def figures(self) -> tuple[Figure, ...]:
        """A fine line corner to corner, twice."""
        n = float(self.size)
        return (Stroke(((0.0, 0.0), (n, n))), Stroke(((n, 0.0), (0.0, n))))
