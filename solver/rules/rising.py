"""Lines along which digits rise (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from cagework.solver.figure import Figure, Role, Spot, Stroke, middle
from cagework.solver.model import Cell, Pair
from cagework.solver.rule import Named, Rule, RuleError, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class Rising(RuleOnCells):
    """Each digit on the line is greater than the one before it."""

    sentence: ClassVar[str] = "Along each grey line digits rise, beginning at its round end."
    by: ClassVar[str] = "by the grey line"
    takes: ClassVar[Takes] = Takes.LINE

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """No line is longer than there are digits."""
        if value is not None and len(value.cells) > size:
            raise RuleError(f"{len(value.cells)} digits cannot rise: there are only {size}", "shorten the line",
                            at=value.cells[size])
        return super(Rising, cls).read(size, value)

    @classmethod
    def example(cls, size: int) -> Named:
        """Over a corner and across an edge."""
        return Named((Cell(1, 1), Cell(2, 2), Cell(2, 3)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Sorting changes nothing, and no digit comes twice."""
        along = [digits[cell] for cell in self.named.cells]
        return along == sorted(set(along))

    def facts(self) -> tuple[Pair, ...]:
        """A pair for each two neighbours on the line; one further on is greater by as much, at the least."""
        cells = self.named.cells
        return tuple(Pair.of(one, other, self.digits, lambda x, y: x < y) for one, other in pairwise(cells))

    def figures(self) -> tuple[Figure, ...]:
        """A broad line through the middles, with a round end where it begins."""
        return (Stroke(tuple(map(middle, self.named.cells)), Role.BAND),
                Spot(middle(self.named.cells[0]), 0.34, Role.BAND))
