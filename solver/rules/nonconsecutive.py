"""No consecutive digits in cells that share an edge (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.model import Cell, Pair, grid_cells
from cagework.solver.rule import Named, Rule, RuleError


@dataclass(frozen=True, slots=True)
class Nonconsecutive(Rule):
    """The digits of two cells that share an edge differ by more than one."""

    sentence: ClassVar[str] = "Cells that share an edge never hold consecutive digits, such as 3 and 4."
    by: ClassVar[str] = "by the rule on neighbours"

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """A grid of 4 has no room: a row could only be 2413 or 3142, and neither can stand under the other."""
        if size < 6:
            raise RuleError(f"no {size} x {size} grid can keep consecutive digits apart",
                            "use the rule on a larger grid")
        return super(Nonconsecutive, cls).read(size, value)

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """No cell's digit is one more or one less than a neighbour's."""
        return not any(
            abs(digits[near] - digit) == 1
            for cell, digit in digits.items() for near in cell.neighbours() if near in digits
        )

    def facts(self) -> tuple[Pair, ...]:
        """A pair for each edge, each taken once, to the right and downwards."""
        return tuple(
            Pair.of(cell, near, self.digits, lambda x, y: abs(x - y) != 1)
            for cell in grid_cells(self.size)
            for near in (Cell(cell.row, cell.col + 1), Cell(cell.row + 1, cell.col))
            if near.row <= self.size and near.col <= self.size
        )
