"""No equal digits a king's move apart (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.model import Cell, Pair, grid_cells
from cagework.solver.rule import Named, Rule, RuleError


@dataclass(frozen=True, slots=True)
class King(Rule):
    """Cells that touch, if only at a corner, hold different digits."""

    sentence: ClassVar[str] = "Cells that touch at a corner, a king’s move apart, never hold the same digit."

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """A grid of 4 has no room: under 1234 only 3412 can stand, and under that only 1234 again."""
        if size < 5:
            raise RuleError(f"no {size} x {size} grid can keep equal digits a king’s move apart",
                            "use the rule on a larger grid")
        return super(King, cls).read(size, value)

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """No cell's digit recurs across one of its corners."""
        return not any(
            digits.get(Cell(cell.row + down, cell.col + right)) == digit
            for cell, digit in digits.items() for down in (-1, 1) for right in (-1, 1)
        )

    def facts(self) -> tuple[Pair, ...]:
        """A pair of different digits for each corner move, each taken once, downwards."""
        return tuple(
            Pair.of(cell, Cell(cell.row + 1, cell.col + right), self.digits, lambda x, y: x != y)
            for cell in grid_cells(self.size)
            for right in (-1, 1) if cell.row < self.size and 1 <= cell.col + right <= self.size
        )
