"""The black squares of crossing sums in one grid, and in them the sums of runs, each on its side of a diagonal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from cagework.solver.crossing import is_across
from cagework.solver.model import Cage, Cell
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import Expected
from cagework.typeset.readback.figures import glyphs_by_cell
from cagework.typeset.readback.grid_area import GridArea
from cagework.typeset.readback.grid_places import to_be_named
from cagework.typeset.readback.page_content import Glyph

_PALE, _DARK = 0.02, 0.35
"""Less ink looks like paper; as much looks black, and carries no dark figures."""

_AT = {"across": (0.7, 0.3), "down": (0.3, 0.7)}
"""Where the half of a square is looked at, in cells."""

_CORNER = 0.05
"""How far from a square's corner its diagonal may end, in cells."""


def compare_squares(area: GridArea, wanted: Expected) -> Iterator[Difference]:
    """Where squares are not black that should be, or before a run its sum does not stand, or stands elsewhere."""
    if wanted.puzzle.shape is None:
        return
    place, cells, glyphs = area.place, frozenset(wanted.puzzle.cells), glyphs_by_cell(area)
    runs = _before(wanted.puzzle.cages) if place.shown.kind is not GridKind.ANSWER else {}
    for square in sorted({*place.squares, *(before for before, _ in runs)} - cells):
        own = to_be_named(square)
        halves = [(way, runs.get((square, way))) for way in _AT]
        said = _said(area, square, glyphs.get(square, ()))
        for way, run in halves:
            ink = _ink(area, square, way)
            first = run.first if run else own
            for message in (*_ground(ink, way, run), *_figures(said[way], way, run)):
                yield Difference(place.page, place.name, first, message)
        if all(run for _, run in halves) and not _has_diagonal(area, square):
            yield Difference(place.page, place.name, own, "no diagonal parts its two sums")


def _before(cages: Sequence[Cage]) -> Mapping[tuple[Cell, str], Cage]:
    """The runs with a sum by the square before them and the way they go."""
    ways = ((cage, is_across(cage.cells)) for cage in cages if cage.total is not None)
    return {(Cell(cage.first.row - (not level), cage.first.col - level), "across" if level else "down"): cage
            for cage, level in ways}


def _said(area: GridArea, square: Cell, glyphs: Sequence[Glyph]) -> Mapping[str, str]:
    """What stands on each side of a square's diagonal."""
    left, top = area.place.corner(square)
    sides: dict[str, list[Glyph]] = {way: [] for way in _AT}
    for glyph in sorted(glyphs, key=lambda glyph: glyph.left):
        x, y = glyph.middle
        sides["across" if x - left > y - top else "down"].append(glyph)
    return {way: "".join(glyph.said for glyph in there) for way, there in sides.items()}


def _ink(area: GridArea, square: Cell, way: str) -> float:
    """The ink of the last patch over a half of a square; 0 where there is none."""
    (left, top), (over, low), cell = area.place.corner(square), _AT[way], area.place.cell
    x, y = left + over * cell, top + low * cell
    return next((patch.ink for patch in reversed(area.patches.get(square, ())) if patch.holds(x, y)), 0.0)


def _ground(ink: float, way: str, run: Cage | None) -> Iterator[str]:
    if run and not _PALE < ink < _DARK:
        yield f"the sum of its run {way} stands on {'black' if ink >= _DARK else 'white'}, not on a tint"
    elif not run and ink < _DARK:
        yield "a square is not black in which no cell is"


def _figures(there: str, way: str, run: Cage | None) -> Iterator[str]:
    if run is None:
        if there:
            yield f"'{there}' stands in a black square where no sum should"
    elif not there:
        yield f"the sum {run.total} does not stand before its run {way}"
    elif there != str(run.total):
        yield f"'{there}' stands before its run {way} where the sum {run.total} should"


def _has_diagonal(area: GridArea, square: Cell) -> bool:
    """Whether a line runs from a square's top left to its bottom right."""
    (left, top), cell = area.place.corner(square), area.place.cell
    ends = left, top, left + cell, top + cell
    return any(max(abs(one - other) for one, other in zip(line[:4], ends, strict=True)) < _CORNER * cell
               for line in area.strokes)
