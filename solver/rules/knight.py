"""No equal digits a knight's move apart (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.model import Cell, Pair, grid_cells
from cagework.solver.rule import Rule


@dataclass(frozen=True, slots=True)
class Knight(Rule):
    """Cells a knight's move apart hold different digits."""

    sentence: ClassVar[str] = (
        "Cells a knight’s move apart (two steps one way and one step across) never hold the same digit."
    )

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """No cell's digit recurs a knight's move away."""
        steps = (-2, -1, 1, 2)
        moves = [(down, right) for down in steps for right in steps if abs(down) != abs(right)]
        return not any(
            digits.get(Cell(cell.row + down, cell.col + right)) == digit
            for cell, digit in digits.items() for down, right in moves
        )

    def facts(self) -> tuple[Pair, ...]:
        """A pair of different digits for each knight's move, each taken once, downwards."""
        return tuple(
            Pair.of(cell, other, self.digits, lambda x, y: x != y)
            for cell in grid_cells(self.size)
            for down, right in ((1, -2), (1, 2), (2, -1), (2, 1))
            if (other := Cell(cell.row + down, cell.col + right)).row <= self.size
            and 1 <= other.col <= self.size
        )
