"""A page's ledger: whatever its marks ask for is painted, and nothing else is.

The marks and the paints of a page are set against each other piece by piece, in no given order, so that a file may
have been written anew by another program. What is left over on either side does not fit.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from cagework.typeset.marks import Mark
from cagework.typeset.readback.align import fit_of
from cagework.typeset.readback.areas import compare_areas
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.grid_places import GridPlace, to_be_named
from cagework.typeset.readback.illustrations import compare_pictures
from cagework.typeset.readback.lettering import Lettering
from cagework.typeset.readback.letters import compare_letters, compare_turned
from cagework.typeset.readback.misfit import Box, Misfit, Pair, measures, middle
from cagework.typeset.readback.painted import Plate
from cagework.typeset.readback.sides import Fit, found_side, wanted_side
from cagework.typeset.readback.stroke_pieces import compare_pieces
from cagework.typeset.readback.strokes import compare_paths
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.paint import Paint

_EDGE = 1.0
"""Points by which a thing may lie outside a grid and still be its."""


def settle(
    marks: Iterable[Mark], paints: Sequence[Paint], trim: Rectangle, seen: Rectangle, lettering: Lettering,
    frames: Sequence[Box] = (), plate: Plate | None = None,
) -> Iterator[Misfit]:
    """Everything in which a page's paints are not its marks.

    Where there are `frames`, what reaches out of them is cut. `seen` is the part of the sheet that can be looked
    at, in the sheet's space as `trim` is: what lies outside it is no one's concern.
    """
    wanted = wanted_side(marks, lettering, frames)
    found = found_side(paints, trim, seen, Fit(), plate)
    fit = fit_of(wanted, found)
    if fit != Fit():
        found = found_side(paints, trim, seen, fit, plate)
    pairs: list[Pair] = []
    yield from found.other
    yield from compare_pictures(wanted.pictures, found.pictures, pairs)
    yield from compare_letters(wanted.glyphs, found.glyphs, lettering, pairs)
    yield from compare_turned(wanted.turned, found.turned, lettering, pairs)
    areas, thin_wanted, thin_found = compare_areas(wanted.areas, found.areas, pairs)
    yield from areas
    paths, missed, left = compare_paths(wanted.paths, found.paths, pairs)
    yield from paths
    yield from compare_pieces(missed, left, thin_wanted, thin_found)
    yield from _upturned(pairs)


def _upturned(pairs: list[Pair]) -> Iterator[Misfit]:
    """Areas that lie over what should lie on them, or below what they should hide."""
    pairs.sort()
    if all(one.order <= other.order for one, other in pairwise(pairs)):
        return
    for area in pairs:
        if not area.covers:
            continue
        for other in pairs:
            if (other.due - area.due) * (other.order - area.order) < 0 and _overlap(area.box, other.box):
                what = "lies over what it should lie below" if other.due > area.due else "hides not what it should"
                yield Misfit(*middle(area.box), "areas", f"the area of {measures(area.box)}, {what}")
                break


def _overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share more than an edge; a line's box is flat."""
    return (one[0] < other[2] - 0.1 and other[0] < one[2] - 0.1 and one[1] < other[3] - 0.1
            and other[1] < one[3] - 0.1)


def sorted_out(
    misfits: Iterable[Misfit], page: int, grids: Sequence[GridPlace], told: Sequence[GridPlace],
) -> Iterator[Difference]:
    """Misfits as differences of page `page`: what is in a grid goes under its name, and is left out where the grid
    is one of those told of already.
    """
    for x, y, of, message in misfits:
        grid = next((grid for grid in grids if _near(grid, x, y)), None)
        if grid is None:
            yield Difference(page, of, None, message)
        elif grid not in told:
            yield Difference(page, grid.name, to_be_named(grid.cell_at(*_inside(grid, x, y))), message)


def _near(grid: GridPlace, x: float, y: float) -> bool:
    return (grid.x - _EDGE <= x <= grid.x + grid.width + _EDGE
            and grid.y - _EDGE <= y <= grid.y + grid.height + _EDGE)


def _inside(grid: GridPlace, x: float, y: float) -> tuple[float, float]:
    """The nearest place within a grid."""
    return min(max(x, grid.x), grid.x + grid.width), min(max(y, grid.y), grid.y + grid.height)
