"""The figures of rules as marks: what lies under a grid's lines, and what stands over them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cagework.solver.figure import UNDER, Clue, Figure, Role, Spot, Stroke, Tint
from cagework.typeset.marks import Cap, Fill, Line, Mark, Ring, rectangle

TINTS = {Role.FIELD: 0.13, Role.BAND: 0.17}
"""The ink of what is tinted."""

_FINE = 0.45
"""The ink of fine lines."""

_THREAD, _MOST_THREAD = 2.2, 0.05
"""How many times as broad as other fine lines a thread is, so that it is not taken for one of the grid's, and how
broad it is at most, in cells, but where fine lines are broader.
"""

_BAND = 0.3
"""How broad a band is, in cells."""

_SIDES = 72
"""Of a disc, which is a polygon: at 9 mm a cell it misses the circle by 3 thousandths of a mm."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a grid's corner is, its cell's side, and the weights of fine lines and of signs, in pt."""

    x: float
    y: float
    cell: float
    fine: float
    sign: float

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        """A point in cells, in pt."""
        return self.x + point[0] * self.cell, self.y + point[1] * self.cell

    @property
    def thread(self) -> float:
        """The weight of threads, in pt."""
        return max(self.fine, min(_THREAD * self.fine, _MOST_THREAD * self.cell))


def drawn_under(figures: Iterable[Figure], place: Place) -> Iterator[Mark]:
    """Bands, then the shapes that lie on them, then fine lines: all under the grid's own."""
    under = [figure for figure in figures if figure.role in UNDER]
    for role in (Role.BAND, Role.FIELD, Role.THREAD):
        for figure in under:
            if figure.role is role and isinstance(figure, Stroke):
                yield from _lines(figure, place)
        for figure in under:
            if figure.role is role and isinstance(figure, Spot):
                yield from _spot(figure, place)


def drawn_over(figures: Iterable[Figure], place: Place) -> Iterator[Mark]:
    """What stands over the grid's lines, in order."""
    for figure in figures:
        if figure.role in UNDER or isinstance(figure, Tint | Clue):
            continue
        yield from _lines(figure, place) if isinstance(figure, Stroke) else _spot(figure, place)


def _lines(stroke: Stroke, place: Place) -> Iterator[Line]:
    weight, ink, cap = {
        Role.BAND: (_BAND * place.cell, TINTS[Role.BAND], Cap.ROUND),
        Role.SIGN: (place.sign, 1.0, Cap.ROUND),
        Role.THREAD: (place.thread, _FINE, Cap.ROUND),
    }.get(stroke.role, (place.fine, _FINE, Cap.BUTT))
    for one, other in zip(stroke.points, stroke.points[1:], strict=False):
        yield Line(*place.at(one), *place.at(other), weight, ink=ink, cap=cap)


def _spot(spot: Spot, place: Place) -> Iterator[Fill]:
    """A spot as fills; an outline lies half within its edge and half without."""
    half = (place.thread if spot.role is Role.THREAD else place.fine) / 2 / place.cell
    match spot.role:
        case Role.THREAD:
            yield Fill((_ring(spot, half, place), _ring(spot, -half, place)), _FINE)
        case Role.OPEN:
            yield Fill((_ring(spot, 0.0, place),), 0.0)
            yield Fill((_ring(spot, half, place), _ring(spot, -half, place)), 1.0)
        case Role.SOLID:
            yield Fill((_ring(spot, half, place),), 1.0)
        case Role.GAP:
            yield Fill((_ring(spot, 0.0, place),), 0.0)
        case _:
            yield Fill((_ring(spot, 0.0, place),), TINTS[spot.role])


def _ring(spot: Spot, more: float, place: Place) -> Ring:
    """The edge of a spot, that much further out, in cells."""
    (x, y), reach = place.at(spot.centre), (spot.reach + more) * place.cell
    if spot.square:
        return rectangle(x - reach, y - reach, 2 * reach, 2 * reach)
    angles = [2 * math.pi * side / _SIDES for side in range(_SIDES)]
    return tuple([(x + reach * math.cos(angle), y + reach * math.sin(angle)) for angle in angles])
