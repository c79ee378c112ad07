"""An extra house that an editor lists cell by cell: the one rule that has no name of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Figure, Tint
from cagework.solver.model import Cell, House, HouseKind
from cagework.solver.rule import Rule


@dataclass(frozen=True, slots=True)
class ListedHouse(Rule):
    """The listed cells hold different digits: every digit where there are `size` of them."""

    name: str
    cells: tuple[Cell, ...]
    sentence: ClassVar[str] = "No digit is repeated within a group of tinted cells."

    @classmethod
    def exemplar(cls, size: int, least: int = 1) -> Rule:
        """Four cells of as many houses."""
        return cls(size, "", (Cell(1, 2), Cell(2, 3), Cell(3, 1), Cell(3, 2)), least=least)

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As many different digits as cells."""
        return len({digits[cell] for cell in self.cells}) == len(self.cells)

    def facts(self) -> tuple[House, ...]:
        """One house."""
        return (House(self.name, HouseKind.EXTRA, self.cells),)

    def figures(self) -> tuple[Figure, ...]:
        """A tint over the cells."""
        return (Tint(self.cells),)
