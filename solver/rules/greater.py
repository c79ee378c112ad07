"""Signs between neighbouring cells that say which digit is greater (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from cagework.solver.figure import Figure, sign
from cagework.solver.model import Cell, Pair
from cagework.solver.rule import Named, Rule, RuleError, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class Greater(RuleOnCells):
    """Each cell named holds a greater digit than the next."""

    sentence: ClassVar[str] = "A sign between two cells opens towards the greater digit."
    by: ClassVar[str] = "by the sign"
    takes: ClassVar[Takes] = Takes.BESIDE

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """Of a run no cell is left without a digit."""
        if value is not None and len(value.cells) > size:
            raise RuleError(f"{len(value.cells)} digits cannot fall: there are only {size}", "name fewer cells",
                            at=value.cells[size])
        return super(Greater, cls).read(size, value)

    @classmethod
    def example(cls, size: int) -> Named:
        """One sign to the right and one downwards."""
        return Named((Cell(2, 1), Cell(2, 2), Cell(3, 2)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """From cell to cell digits fall."""
        along = [digits[cell] for cell in self.named.cells]
        return along == sorted(set(along), reverse=True)

    def facts(self) -> tuple[Pair, ...]:
        """A pair for each sign."""
        return tuple(
            Pair.of(one, other, self.digits, lambda x, y: x > y) for one, other in pairwise(self.named.cells))

    def figures(self) -> tuple[Figure, ...]:
        """An angle on each side, its point towards the lesser digit."""
        return tuple(figure for one, other in pairwise(self.named.cells) for figure in sign(one, other, 0.11))
