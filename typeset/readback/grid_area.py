"""One grid's part of a page: the runs, lines and patches that touch it, and which patches lie over which cell."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from cagework.solver.model import Cell
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.page_content import DrawnLine, PageContent, Patch, TextRun

_EDGE = 1.0
"""Points by which a line may miss the grid's edge and still be its frame."""


@dataclass(frozen=True, slots=True)
class GridArea:
    """What of a page is a grid's. `patches` are by the cells they touch, each cell's in drawing order."""

    place: GridPlace
    runs: Sequence[TextRun]
    strokes: Sequence[DrawnLine]
    patches: Mapping[Cell, Sequence[Patch]]

    def hides(self, cell: Cell, x: float, y: float, order: int) -> bool:
        """Whether something painted after `order` lies over a point of a cell."""
        patches = self.patches.get(cell)
        return patches is not None and any(patch.order > order and patch.holds(x, y) for patch in patches)


def area_of(place: GridPlace, leaf: PageContent) -> GridArea:
    """A grid's part of its page; where its frame lies a little off its place, the grid is taken to be there."""
    place = _settled(place, leaf.strokes)
    left, top, right, bottom = place.x, place.y, place.x + place.side, place.y + place.side
    patches: dict[Cell, list[Patch]] = {}
    for patch in leaf.patches:
        if patch.left < right and patch.right > left and patch.top < bottom and patch.bottom > top:
            for cell in _cells_under(place, patch):
                patches.setdefault(cell, []).append(patch)
    return GridArea(
        place,
        [run for run in leaf.runs
         if run.right >= left and run.left <= right and top <= run.base <= bottom + run.size],
        _within(leaf.strokes, left - _EDGE, top - _EDGE, right + _EDGE, bottom + _EDGE),
        patches,
    )


def _within(strokes: Iterable[DrawnLine], left: float, top: float, right: float, bottom: float) -> list[DrawnLine]:
    """The lines that touch a box."""
    found: list[DrawnLine] = []
    for line in strokes:
        x1, y1, x2, y2, _, _ = line
        if x2 >= left and x1 <= right and (y1 >= top or y2 >= top) and (y1 <= bottom or y2 <= bottom):
            found.append(line)
    return found


def _settled(place: GridPlace, strokes: Iterable[DrawnLine]) -> GridPlace:
    """The place by the nearest lines as long as the grid is wide."""
    across: list[float] = []
    down: list[float] = []
    for line in strokes:
        right = line.x1 - place.x
        if abs(right) < _EDGE and abs(under := line.top - place.y) < _EDGE:
            if line.bottom - line.top > 0.99 * place.side and line.x2 - line.x1 < _EDGE:
                across.append(right)
            elif line.x2 - line.x1 > 0.99 * place.side and line.bottom - line.top < _EDGE:
                down.append(under)
    return replace(place, x=place.x + _least(across), y=place.y + _least(down))


def _least(offs: Sequence[float]) -> float:
    return min(offs, key=abs, default=0.0)


def _cells_under(place: GridPlace, patch: Patch) -> Iterator[Cell]:
    first, last = _span(place, patch.left - place.x, patch.right - place.x)
    upper, lower = _span(place, patch.top - place.y, patch.bottom - place.y)
    for row in range(upper, lower + 1):
        for col in range(first, last + 1):
            yield Cell(row, col)


def _span(place: GridPlace, start: float, end: float) -> tuple[int, int]:
    """The first and the last row or column between two distances from the grid's corner."""
    return max(1, int(start / place.cell + 0.001) + 1), min(place.size, int(end / place.cell - 0.001) + 1)
