"""The spots of rules in one grid: discs and squares on its cells and lines, and the white that keeps lines off a
sign.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cagework.solver.figure import Role, Spot
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import Expected
from cagework.typeset.readback.grid_area import GridArea
from cagework.typeset.readback.page_content import Patch

_NEAR = 0.04
"""How far a spot's edge may lie from where it should, in cells: an outline is as broad as that at the most."""

_PALE = 0.02
"""Less ink looks like paper."""

_DARK = 0.35
"""As much looks like a line, not like a tint."""


def compare_spots(area: GridArea, wanted: Expected) -> tuple[GridArea, tuple[Difference, ...]]:
    """The grid without its rules' spots, which other comparisons need not know of, and those that are missing."""
    place = area.place
    found: set[Patch] = set()
    amiss = []
    for spot in wanted.spots:
        looks = list(_patches(area, spot))
        if all(any(kind(patch.ink) for patch in looks) for kind in _LOOKS[spot.role]):
            found.update(looks)
        else:
            x, y = spot.centre
            cell = place.cell_at(place.x + x * place.cell - 0.01, place.y + y * place.cell - 0.01)
            amiss.append(Difference(place.page, place.name, cell, "its rule's figure is not drawn"))
    if not found:
        return area, tuple(amiss)
    patches = {cell: [patch for patch in there if patch not in found] for cell, there in area.patches.items()}
    return replace(area, patches=patches), tuple(amiss)


def _white(ink: float) -> bool:
    return ink < _PALE


def _tinted(ink: float) -> bool:
    return _PALE <= ink < _DARK


def _dark(ink: float) -> bool:
    return ink >= _DARK


_LOOKS = {
    Role.FIELD: (_tinted,), Role.BAND: (_tinted,), Role.THREAD: (_dark,), Role.OPEN: (_white, _dark),
    Role.SOLID: (_dark,), Role.GAP: (_white,),
}
"""What each role's fills look like."""


def _patches(area: GridArea, spot: Spot) -> Iterator[Patch]:
    """The fills whose edges are where a spot's should be; upright rectangles where it is a square."""
    place = area.place
    (x, y), reach = spot.centre, spot.reach
    due = (place.x + (x - reach) * place.cell, place.y + (y - reach) * place.cell,
           place.x + (x + reach) * place.cell, place.y + (y + reach) * place.cell)
    cell = place.cell_at(place.x + x * place.cell - 0.01, place.y + y * place.cell - 0.01)
    for patch in area.patches.get(cell, ()):
        edges = patch.left, patch.top, patch.right, patch.bottom
        corners = {len(ring) for ring in patch.rings} or {4}
        if (all(abs(one - other) <= _NEAR * place.cell for one, other in zip(edges, due, strict=True))
                and (max(corners) <= 5) is spot.square):
            yield patch
