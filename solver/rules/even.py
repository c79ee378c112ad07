"""Cells that hold an even digit (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Figure, Role, Spot, middle
from cagework.solver.model import Cell, Domain
from cagework.solver.rule import Named, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class Even(RuleOnCells):
    """Each of the cells holds an even digit."""

    sentence: ClassVar[str] = "Each cell with a grey square holds an even digit."
    by: ClassVar[str] = "by the grey squares"
    takes: ClassVar[Takes] = Takes.CELLS

    @classmethod
    def example(cls, size: int) -> Named:
        """Three cells of two houses."""
        return Named((Cell(1, 1), Cell(1, 2), Cell(3, 2)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Divided by two, every digit leaves nothing."""
        return all(digits[cell] % 2 == 0 for cell in self.named.cells)

    def facts(self) -> tuple[Domain, ...]:
        """A domain for each cell."""
        held = sum(1 << place for place, digit in enumerate(self.digits) if digit % 2 == 0)
        return tuple(Domain(cell, held) for cell in self.named.cells)

    def figures(self) -> tuple[Figure, ...]:
        """A grey square under each digit."""
        return tuple(Spot(middle(cell), 0.36, Role.FIELD, square=True) for cell in self.named.cells)
