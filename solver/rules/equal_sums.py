"""Lines that regions' borders cut into parts which add to the same (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import ClassVar

from cagework.solver.figure import Figure, Role, Stroke, middle
from cagework.solver.model import BOXES, Cell, Sum, boxes
from cagework.solver.rule import Named, RuleError, RuleOnCells, Takes


@dataclass(frozen=True, slots=True)
class EqualSums(RuleOnCells):
    """All parts of the line make the same; one that comes back to a region has another part there."""

    sentence: ClassVar[str] = "Borders of regions cut each double line into parts whose digits add to the same."
    by: ClassVar[str] = "by the double line"
    takes: ClassVar[Takes] = Takes.ACROSS

    def check(self) -> None:
        """The line is in two parts or more, and none is too long for another."""
        _check(self.digits, _parts(self.named))

    @classmethod
    def example(cls, size: int) -> Named:
        """From the lowest cells of a box over a corner into the next box."""
        high = BOXES.get(size, (2, 2))[0]
        cells = Cell(high - 1, 1), Cell(high, 1), Cell(high + 1, 2), Cell(high + 2, 2)
        areas = boxes(size) if size in BOXES else ()
        return Named(cells, areas=tuple(area for cell in cells for area in areas if cell in area))

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As it was cut."""
        return len({sum(map(digits.__getitem__, part)) for part in _parts(self.named)}) == 1

    def facts(self) -> tuple[Sum, ...]:
        """Each part less the next is nothing."""
        return tuple(Sum(one, other, (0,)) for one, other in pairwise(_parts(self.named)))

    def figures(self) -> tuple[Figure, ...]:
        """A double line through the middles."""
        return (Stroke(tuple(map(middle, self.named.cells)), Role.DOUBLE),)


def _parts(named: Named) -> list[tuple[Cell, ...]]:
    """The cells between two borders, in the line's order."""
    along = zip(named.cells, named.areas, strict=False)
    return [tuple(cell for cell, _ in part) for _, part in groupby(along, key=lambda one: one[1])]


def _check(digits: range, parts: list[tuple[Cell, ...]]) -> None:
    """Raise RuleError where nothing is cut, or the least of one part is over the most of another."""
    if len(parts) < 2:
        raise RuleError("no border of a region cuts this line", "lead it through two regions or more")
    short, long = min(map(len, parts)), max(parts, key=len)
    most, least = sum(digits[-short:]), sum(digits[:len(long)])
    if least > most:
        raise RuleError(f"its {len(long)} digits in one region add to {least} or more, those in another to "
                        f"{most} or less", "make the parts of the line more alike", at=long[0])
