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

    @property
    def latest(self) -> int:
        """The turn of the last of its patches, by which whatever comes later is seen."""
        return max((patch.order for patches in self.patches.values() for patch in patches), default=-1)

    def hides(self, cell: Cell, x: float, y: float, order: int) -> bool:
        """Whether something painted after `order` lies over a point of a cell."""
        patches = self.patches.get(cell)
        return patches is not None and any(patch.order > order and patch.holds(x, y) for patch in patches)


def area_of(place: GridPlace, leaf: PageContent) -> GridArea:
    """A grid's part of its page; where its frame lies a little off its place, the grid is taken to be there."""
    place = _settled(place, leaf.strokes)
    left, top, right, bottom = place.x, place.y, place.x + place.width, place.y + place.height
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
    """The place by the nearest lines as long as the grid is wide or high."""
    across: list[float] = []
    down: list[float] = []
    for line in strokes:
        right = line.x1 - place.x
        if abs(right) < _EDGE and abs(under := line.top - place.y) < _EDGE:
            if line.bottom - line.top > 0.99 * place.height and line.x2 - line.x1 < _EDGE:
                across.append(right)
            elif line.x2 - line.x1 > 0.99 * place.width and line.bottom - line.top < _EDGE:
                down.append(under)
    return replace(place, x=place.x + _least(across), y=place.y + _least(down))


def _least(offs: Sequence[float]) -> float:
    return min(offs, key=abs, default=0.0)


def _cells_under(place: GridPlace, patch: Patch) -> Iterator[Cell]:
    squares, cell = place.squares, place.cell
    columns = _span(cell, squares.left, squares.right, patch.left - place.x, patch.right - place.x)
    for row in _span(cell, squares.top, squares.bottom, patch.top - place.y, patch.bottom - place.y):
        for col in columns:
            yield Cell(row, col)


def _span(cell: float, first: int, last: int, start: float, end: float) -> range:
    """The rows or columns, of those from first to last, between two distances from the grid's corner."""
    return range(max(first, first + int(start / cell + 0.001)), min(last, first + int(end / cell - 0.001)) + 1)
