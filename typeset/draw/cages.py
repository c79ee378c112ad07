"""Cage outlines: closed polygons set in from the cell edges, with dashes that fit every edge; borders of regions.

The dashes fit by choice of numbers, not by stretching. Let a cell of side c hold a whole number m of dash
pitches (p = c / m) and let the inset be an odd number j of half pitches (i = j p / 2). An edge k cells long
then measures k c - 2 i, k c or k c + 2 i between its corners (both convex, one of each, both concave), and each
is a whole number of pitches. So one plain on-off pattern, started at the right phase, puts the middle of a dash
on every corner of every cage, inner corners and holes included, and no edge ends in a stub. A cell line that
crosses the outline does so c - i or c + i from a corner, which is a whole number and a half: the middle of a gap.
No dash of any cage touches a line of the grid.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import lru_cache

from cagework.solver.model import Cell
from cagework.typeset.marks import MM, Dash, Outline, Ring

_ON = 0.6
"""The share of a pitch that is ink."""

_HAIR = 1e-6

_ROOMY = 7.5 * MM
_SHORT = 1.2
"""The least pitch of dashes, in pt: its gap stays open in print (common practice: twice the thinnest line)."""
_THIN = 0.3
"""The thinnest dashed line, in pt: a little over the thinnest solid one (common practice)."""

_Vertex = tuple[int, int]
_Edge = tuple[_Vertex, _Vertex]


@dataclass(frozen=True, slots=True)
class DashFit:
    """Dash pitch and cage inset in pt, fitted to one cell size."""

    pitch: float
    inset: float

    @property
    def dash(self) -> Dash:
        """The pattern for a ring from `outline`, which starts in the middle of a gap."""
        on = self.pitch * _ON
        off = self.pitch - on
        return Dash(on, off, on + off / 2)

    def clear_of(self, least: float) -> float:
        """The first middle of a gap at or beyond `least` pt from a cell's edge, going away from a corner
        of the outline: where a knock-out can end without cutting a dash.
        """
        return self.inset + (math.ceil((least - self.inset) / self.pitch - 0.5 - 1e-9) + 0.5) * self.pitch


@lru_cache(maxsize=128)
def fit_dashes(
    cell: float, pitch: float, inset: float, least_gap: float = 0.0, least_inset: float = 0.0,
) -> DashFit:
    """The fit for cells of `cell` pt nearest to the wished `pitch` and `inset` (pt), with gaps and inset no less
    than stated where cells are large enough for that.
    """
    def miss(choice: tuple[int, int]) -> float:
        parts, halves = choice
        fitted = cell / parts
        return abs(math.log(fitted / pitch)) + 1.5 * abs(math.log(halves * fitted / 2 / inset))

    choices = [(m, j) for m in range(4, 61) for j in (1, 3) if j < m - 1]
    kept = [(m, j) for m, j in choices
            if cell * (1 - _ON) / m >= least_gap - _HAIR and j * cell / (2 * m) >= least_inset - _HAIR]
    parts, halves = min(kept or choices[:1], key=miss)
    return DashFit(cell / parts, halves * cell / parts / 2)


def is_roomy(cell: float) -> bool:
    """Whether a cell of so many pt has room for a cage's outline, a sum and a digit of their usual sizes."""
    return cell >= _ROOMY


def lighter_cage(weight: float, cell: float) -> float:
    """The weight of a cage's outline, in pt: less in small cells, as thin as is well printed at the least."""
    return min(weight, max(_THIN, weight * cell / _ROOMY))


def cage_fit(cell: float, least_gap: float = 0.0, least_inset: float = 0.0) -> DashFit:
    """The fit for the cages of a grid with cells of `cell` pt: some seven dashes a cell, fewer on coarse paper.
    In small cells finer dashes nearer to the edges leave room for sum and digit.
    """
    if is_roomy(cell) or least_gap:
        return fit_dashes(cell, 0.14 * cell, 0.073 * cell, least_gap, least_inset)
    pitch = max(0.1 * cell, _SHORT)
    return fit_dashes(cell, pitch, pitch / 2)


def rings(cells: Collection[Cell]) -> tuple[tuple[_Vertex, ...], ...]:
    """The corners of a cage's boundary as grid vertices (x, y), one ring for the outside and one a hole.

    The cage lies to the right of each ring as it runs (clockwise outside, y down). Where two of its cells
    touch at a corner only, the rings keep each to its own cell.
    """
    return _rings(frozenset(cells))


@lru_cache(maxsize=4096)
def _rings(inside: frozenset[Cell]) -> tuple[tuple[_Vertex, ...], ...]:
    outgoing: dict[_Vertex, list[_Vertex]] = {}
    for cell in sorted(inside):
        for start, end in _open_edges(cell, inside):
            outgoing.setdefault(start, []).append(end)
    found = []
    while outgoing:
        start = min(outgoing)
        ring = _walk(start, outgoing)
        found.append(_corners(ring))
    return tuple(found)


def _open_edges(cell: Cell, inside: Collection[Cell]) -> list[_Edge]:
    x, y = cell.col - 1, cell.row - 1
    sides = (
        (Cell(cell.row - 1, cell.col), ((x, y), (x + 1, y))),
        (Cell(cell.row, cell.col + 1), ((x + 1, y), (x + 1, y + 1))),
        (Cell(cell.row + 1, cell.col), ((x + 1, y + 1), (x, y + 1))),
        (Cell(cell.row, cell.col - 1), ((x, y + 1), (x, y))),
    )
    return [edge for neighbour, edge in sides if neighbour not in inside]


def _walk(start: _Vertex, outgoing: dict[_Vertex, list[_Vertex]]) -> list[_Vertex]:
    """Follow edges from `start` back to it, turning right where there is a choice; use them up."""
    ring = [start]
    at, heading = start, (1, 0)
    while True:
        ends = outgoing[at]
        right = (at[0] - heading[1], at[1] + heading[0])
        end = right if right in ends and len(ends) > 1 else ends[0]
        ends.remove(end)
        if not ends:
            del outgoing[at]
        heading = (end[0] - at[0], end[1] - at[1])
        if end == start:
            return ring
        ring.append(end)
        at = end


def _corners(ring: list[_Vertex]) -> tuple[_Vertex, ...]:
    around = zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True)
    return tuple(
        here for before, here, after in around
        if (here[0] - before[0], here[1] - before[1]) != (after[0] - here[0], after[1] - here[1])
    )


def inset_ring(ring: tuple[_Vertex, ...], cell: float, inset: float, x: float, y: float) -> Ring:
    """A boundary ring moved `inset` pt into its cage, for cells of `cell` pt and the grid's corner at (x, y)."""
    return tuple([(x + across * cell + inset * right, y + down * cell + inset * low)
                  for (across, down), (right, low) in zip(ring, _inward(ring), strict=True)])


@lru_cache(maxsize=4096)
def _inward(ring: tuple[_Vertex, ...]) -> tuple[tuple[int, int], ...]:
    """For each corner of a ring the way into its cage, across and down."""
    ways = []
    for before, here, after in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True):
        arriving, leaving = _heading(before, here), _heading(here, after)
        ways.append((-arriving[1] - leaving[1], arriving[0] + leaving[0]))
    return tuple(ways)


def _heading(start: tuple[float, float], end: tuple[float, float]) -> tuple[int, int]:
    across, down = end[0] - start[0], end[1] - start[1]
    return (across > 0) - (across < 0), (down > 0) - (down < 0)


def outline(
    cells: Collection[Cell], cell: float, fit: DashFit, x: float, y: float, weight: float, ink: float = 1.0,
) -> Outline:
    """One cage's outline as one dashed path; each ring starts in the middle of a gap, so no corner is a seam."""
    started: list[Ring] = []
    for ring in rings(cells):
        corners = inset_ring(ring, cell, fit.inset, x, y)
        (x0, y0), (dx, dy) = corners[0], _heading(corners[0], corners[1])
        start = (x0 + dx * fit.pitch / 2, y0 + dy * fit.pitch / 2)
        started.append((start, *corners[1:], corners[0]))
    return Outline(tuple(started), weight, ink, fit.dash)


def ringed(cells: Collection[Cell], cell: float, inset: float, x: float, y: float, weight: float) -> Outline:
    """A solid line round some cells, `inset` pt within their edges."""
    return Outline(tuple(inset_ring(ring, cell, inset, x, y) for ring in rings(cells)), weight)


@lru_cache(maxsize=64)
def borders(size: int, regions: tuple[tuple[Cell, ...], ...]) -> tuple[tuple[int, int, int, int], ...]:
    """Return the borders between regions, each straight run once: x and y of either end, in cells."""
    of = {cell: n for n, region in enumerate(regions) for cell in region}
    span = range(1, size + 1)
    found: list[tuple[int, int, int, int]] = []
    for n in range(1, size):
        across = [of.get(Cell(n, i)) != of.get(Cell(n + 1, i)) for i in span]
        down = [of.get(Cell(i, n)) != of.get(Cell(i, n + 1)) for i in span]
        found += [(start, n, end, n) for start, end in _runs(across)]
        found += [(n, start, n, end) for start, end in _runs(down)]
    return tuple(found)


def _runs(flags: list[bool]) -> Iterator[tuple[int, int]]:
    start = None
    for index, flag in enumerate([*flags, False]):
        if flag and start is None:
            start = index
        elif not flag and start is not None:
            yield start, index
            start = None
