"""Signs between neighbouring cages that say which sum is greater (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise, zip_longest
from typing import ClassVar

from cagework.solver.combine import sum_range
from cagework.solver.figure import Figure, sign
from cagework.solver.model import Cell, Sum
from cagework.solver.rule import Named, RuleError, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class GreaterCage(RuleOnCells):
    """The cage of each cell named adds to more than the cage of the next."""

    sentence: ClassVar[str] = "A large sign between two cages opens towards the greater sum."
    by: ClassVar[str] = "by the large sign"
    takes: ClassVar[Takes] = Takes.CAGES

    def check(self) -> None:
        """No cage is compared with one that adds to as much or more whatever its digits are."""
        _check(self.digits, self.named)

    @classmethod
    def example(cls, size: int) -> Named:
        """Two cages of two cells, one beside the other."""
        one, other = (Cell(1, 1), Cell(2, 1)), (Cell(1, 2), Cell(2, 2))
        return Named((one[0], other[0]), areas=(one, other))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """From cage to cage sums fall."""
        made = [sum(map(digits.__getitem__, cage)) for cage in self.named.areas]
        return all(one > other for one, other in pairwise(made))

    def facts(self) -> tuple[Sum, ...]:
        """The one less the other is more than nothing."""
        least, most = self.digits[0], self.digits[-1]
        return tuple(Sum(one, other, tuple(range(1, len(one) * most - len(other) * least + 1)))
                     for one, other in pairwise(self.named.areas))

    def figures(self) -> tuple[Figure, ...]:
        """An angle on the side between the cells named, its point towards the lesser sum."""
        return tuple(figure for one, other in pairwise(self.named.cells) for figure in sign(one, other, 0.16))


def _check(digits: range, named: Named) -> None:
    """Raise RuleError where the sums of two cages, or the numbers of their cells, say that the sign is wrong."""
    ends = []
    for cage, total in zip_longest(named.areas, named.sums):
        least, most = sum_range(len(digits), min(len(cage), len(digits)), digits[0])
        ends.append((total, total) if total is not None and least <= total <= most else (least, most))
    for cell, ((low, most), (least, high)) in zip(named.cells[1:], pairwise(ends), strict=False):
        if most <= least:
            less, more = " or less" if low < most else "", " or more" if least < high else ""
            raise RuleError(f"the cage before adds to {most}{less}, the cage of {cell} to {least}{more}",
                            "turn the two round, or mend a sum", at=cell)
