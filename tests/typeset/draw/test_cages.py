"""Cage outlines: closed, inside their cells, clear of each other, dashed so that corners are solid."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from shapely.geometry import JOIN_STYLE, MultiPolygon, Polygon, box
from shapely.ops import unary_union

from cagework.solver.model import Cell
from cagework.typeset.draw.cages import (
    DashFit,
    cage_fit,
    fit_dashes,
    inset_ring,
    is_roomy,
    lighter_cage,
    outline,
    ringed,
    rings,
)
from cagework.typeset.draw.shades import SHADES, shades_apart
from cagework.typeset.marks import Ring

CELL = 36.0
RING = [Cell(r, c) for r in range(1, 4) for c in range(1, 4) if (r, c) != (2, 2)]
with_a_hole = example(RING, cage_fit(CELL))


@st.composite
def cages(draw: st.DrawFn) -> list[Cell]:
    """A random connected set of up to 14 cells, holes and corner contacts included."""
    cells = [Cell(draw(st.integers(1, 6)), draw(st.integers(1, 6)))]
    for _ in range(draw(st.integers(0, 13))):
        cell = draw(st.sampled_from(cells))
        near = draw(st.sampled_from(list(cell.neighbours())))
        if near not in cells and 1 <= near.row <= 7 and 1 <= near.col <= 7:
            cells.append(near)
    return cells


@st.composite
def tilings(draw: st.DrawFn) -> list[list[Cell]]:
    """A grid of 5 x 5 cells cut into connected cages."""
    rest = {Cell(r, c) for r in range(1, 6) for c in range(1, 6)}
    found = []
    while rest:
        cage = [min(rest)]
        rest.remove(cage[0])
        for _ in range(draw(st.integers(0, 7))):
            open_cells = sorted({n for cell in cage for n in cell.neighbours()} & rest)
            if not open_cells:
                break
            cage.append(draw(st.sampled_from(open_cells)))
            rest.remove(cage[-1])
        found.append(cage)
    return found


fits = st.builds(fit_dashes, st.just(CELL), st.floats(2.0, 5.0), st.floats(1.5, 4.0))


def area_of(shape: tuple[Ring, ...]) -> Polygon | MultiPolygon:
    """Rings as one shape by the even-odd rule."""
    result: Polygon | MultiPolygon = Polygon()
    for ring in shape:
        result = result.symmetric_difference(Polygon(ring))
    return result


def squares(cells: list[Cell]) -> Polygon | MultiPolygon:
    return unary_union([box((c.col - 1) * CELL, (c.row - 1) * CELL, c.col * CELL, c.row * CELL) for c in cells])


@given(cages(), fits)
@with_a_hole
def test_the_outline_is_the_cage_shrunk_by_the_inset(cells: list[Cell], fit: DashFit) -> None:
    """A geometry library's negative buffer with mitred corners is the same shape, holes included."""
    ours = area_of(tuple(inset_ring(ring, CELL, fit.inset, 0, 0) for ring in rings(cells)))
    theirs = squares(cells).buffer(-fit.inset, join_style=JOIN_STYLE.mitre, mitre_limit=10)
    assert ours.symmetric_difference(theirs).area < 1e-6


@given(cages(), fits)
@with_a_hole
def test_every_corner_is_the_middle_of_a_dash_and_every_edge_ends_whole(cells: list[Cell], fit: DashFit) -> None:
    drawn = outline(cells, CELL, fit, 0, 0, 0.6)
    assert drawn.dash is not None
    on, off = drawn.dash.on, drawn.dash.off
    for ring in drawn.rings:
        along = 0.0
        for (x1, y1), (x2, y2) in pairwise((*ring, ring[0])):
            length = math.hypot(x2 - x1, y2 - y1)
            along += length
            phase = (along + drawn.dash.phase) % (on + off)
            if (x2, y2) != ring[0]:
                assert phase == pytest.approx(on / 2, abs=1e-6), "a corner lies in the middle of a dash"
        assert along / (on + off) == pytest.approx(round(along / (on + off)), abs=1e-6), "whole pitches"
        assert (along + drawn.dash.phase) % (on + off) == pytest.approx(on + off / 2, abs=1e-6), "closes in a gap"


@given(cages(), fits)
def test_rings_close_and_turn_at_right_angles_only(cells: list[Cell], fit: DashFit) -> None:
    for ring in rings(cells):
        assert len(ring) >= 4
        for (x1, y1), (x2, y2) in pairwise((*ring, ring[0])):
            assert (x1 == x2) != (y1 == y2)


@given(tilings(), fits)
def test_neighbouring_outlines_keep_two_insets_apart_and_one_from_the_grid_lines(
    tiling: list[list[Cell]], fit: DashFit,
) -> None:
    shapes = [area_of(tuple(inset_ring(ring, CELL, fit.inset, 0, 0) for ring in rings(cage))) for cage in tiling]
    for index, shape in enumerate(shapes):
        assert squares(tiling[index]).contains(shape)
        for other in shapes[:index]:
            assert shape.distance(other) >= 2 * fit.inset - 1e-6
        assert shape.boundary.distance(squares(tiling[index]).boundary) == pytest.approx(fit.inset, abs=1e-6)


def test_a_ring_of_cells_has_an_outline_round_its_hole() -> None:
    assert len(rings(RING)) == 2


def test_a_cage_that_touches_itself_at_a_corner_keeps_its_outline_in_its_own_cells() -> None:
    winding = [Cell(1, 1), Cell(1, 2), Cell(1, 3), Cell(2, 3), Cell(3, 3), Cell(3, 2), Cell(2, 1), Cell(3, 1)]
    shape = area_of(tuple(inset_ring(ring, CELL, 3.0, 0, 0) for ring in rings(winding)))
    assert shape.is_valid
    assert shape.area == pytest.approx(squares(winding).buffer(-3.0, join_style=JOIN_STYLE.mitre).area)


@given(st.floats(15, 80))
def test_the_fit_is_an_odd_count_of_half_pitches_and_near_what_looks_well(cell: float) -> None:
    fit = cage_fit(cell)
    halves = 2 * fit.inset / fit.pitch
    assert halves == pytest.approx(round(halves)) and round(halves) % 2 == 1
    assert cell / fit.pitch == pytest.approx(round(cell / fit.pitch))
    assert (0.06 if is_roomy(cell) else 0.045) * cell < fit.inset < (0.09 if is_roomy(cell) else 0.06) * cell


@given(st.floats(8, 80), st.floats(0.3, 1.2))
def test_small_cells_have_finer_cages_that_can_still_be_printed(cell: float, weight: float) -> None:
    """Lines of 0.25 pt hold on uncoated paper (support.blurb.com article 360046232432)."""
    lighter = lighter_cage(weight, cell)
    assert 0.25 < lighter <= weight and (lighter == weight or not is_roomy(cell))
    assert cage_fit(cell).dash.off > 0.4


@given(cages())
@example(RING)
def test_a_line_round_cells_encloses_them(cells: list[Cell]) -> None:
    shape = area_of(ringed(cells, CELL, 0.0, 0, 0, 1.0).rings)
    assert shape.equals(squares(cells))


@given(cages(), fits)
@with_a_hole
def test_cell_lines_cross_the_outline_in_the_middle_of_gaps(cells: list[Cell], fit: DashFit) -> None:
    """Walk each ring; wherever it crosses a multiple of the cell side, the pattern is half way through a gap."""
    drawn = outline(cells, CELL, fit, 0, 0, 0.6)
    assert drawn.dash is not None
    pitch = drawn.dash.on + drawn.dash.off
    for ring in drawn.rings:
        along = drawn.dash.phase
        for (x1, y1), (x2, y2) in pairwise((*ring, ring[0])):
            start, end = (x1, x2) if y1 == y2 else (y1, y2)
            for line in range(8):
                if min(start, end) < line * CELL < max(start, end):
                    phase = (along + abs(line * CELL - start)) % pitch
                    assert phase == pytest.approx(drawn.dash.on + drawn.dash.off / 2, abs=1e-6)
            along += abs(end - start)


@given(fits, st.floats(0, 30))
def test_a_knock_out_ends_in_the_middle_of_a_gap(fit: DashFit, least: float) -> None:
    edge = fit.clear_of(least)
    assert edge >= least - 1e-6
    assert (edge - fit.inset) / fit.pitch % 1 == pytest.approx(0.5, abs=1e-6)


@given(tilings())
def test_no_two_neighbouring_cages_share_a_tint(tiling: list[list[Cell]]) -> None:
    shades = shades_apart(tiling)
    assert set(shades) <= set(SHADES)
    owner = {cell: index for index, cells in enumerate(tiling) for cell in cells}
    for cell, index in owner.items():
        for near in cell.neighbours():
            if owner.get(near, index) != index:
                assert shades[index] != shades[owner[near]]
