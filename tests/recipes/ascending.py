"""Digits ascend along a line: a rule made up to try the recipe for a rule on cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from cagework.solver.figure import Figure, Stroke, Tint
from cagework.solver.model import Cell, Pair
from cagework.solver.rule import Named, Rule, RuleError, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class Ascending(RuleOnCells):
    """Each digit on the line is greater than the one before it."""

    sentence: ClassVar[str] = "Along each line digits ascend, starting from the tinted cell."
    takes: ClassVar[Takes] = Takes.LINE

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """No line is longer than there are digits."""
        if value is not None and len(value.cells) > size:
            raise RuleError(f"{len(value.cells)} digits cannot ascend: there are only {size}", "shorten the line",
                            at=value.cells[size])
        return super(Ascending, cls).read(size, value)

    @classmethod
    def example(cls, size: int) -> Named:
        """Over a corner and across an edge."""
        return Named((Cell(1, 1), Cell(2, 2), Cell(2, 3)))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Sorting changes nothing, and no digit comes twice."""
        along = [digits[cell] for cell in self.named.cells]
        return along == sorted(set(along))

    def facts(self) -> tuple[Pair, ...]:
        """A pair for each two neighbours on the line."""
        return tuple(
            Pair.of(one, other, self.size, lambda x, y: x < y) for one, other in pairwise(self.named.cells))

    def figures(self) -> tuple[Figure, ...]:
        """A line through the middles, its first cell tinted."""
        return (Tint(self.named.cells[:1]),
                Stroke(tuple((cell.col - 0.5, cell.row - 0.5) for cell in self.named.cells)))
