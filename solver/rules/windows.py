"""Four inner windows are houses (common practice on the 9 x 9 grid)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Figure, Tint
from cagework.solver.model import Cell, House, HouseKind
from cagework.solver.rule import Named, Rule, RuleError


@dataclass(frozen=True, slots=True)
class Windows(Rule):
    """The four 3 x 3 windows set one cell in from the frame and one apart each hold every digit."""

    sentence: ClassVar[str] = "Each of the four tinted windows also holds every digit from {least} to {most} once."

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """Only a 9 x 9 grid has the four windows."""
        if size != 9:
            raise RuleError(f"windows need a 9 x 9 grid; this one is {size} x {size}",
                            "list the cells of each extra house instead")
        return super(Windows, cls).read(size, value)

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Each window holds nine different digits."""
        return all(
            len({digits[Cell(top + i // 3, left + i % 3)] for i in range(9)}) == 9
            for top in (2, 6) for left in (2, 6)
        )

    def facts(self) -> tuple[House, ...]:
        """Four houses."""
        corners = ((2, 2), (2, 6), (6, 2), (6, 6))
        return tuple(
            House(f"window {n}", HouseKind.EXTRA,
                  tuple(Cell(top + down, left + right) for down in range(3) for right in range(3)))
            for n, (top, left) in enumerate(corners, 1)
        )

    def figures(self) -> tuple[Figure, ...]:
        """A tint over each window."""
        return tuple(Tint(house.cells) for house in self.facts())
