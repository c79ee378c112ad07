"""The lines of one grid: cage outlines on both sides of every border and nowhere else, regions, frame, rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from math import ceil, floor
from statistics import median

from cagework.solver.model import Cell
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import Expected
from cagework.typeset.readback.grid_area import GridArea
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.page_content import DrawnLine

_HEAVIER = 1.02
"""How many times as heavy a line is, at the least, that looks heavier."""

Segment = tuple[tuple[float, float], tuple[float, float]]
"""A rule's line from end to end, in cells from the grid's corner."""

_ON = 0.02
"""How near to a grid line a line lies that is taken to be one, in cells."""

_INSIDE = 0.25
"""How far from its cell's side a cage's outline may run, in cells."""

_ASKED = 0.1, 0.9
"""The part of a side that is looked at: outlines turn near the corners."""

_DASHED = 0.15
"""A gap shorter than this, in cells, is one between dashes."""

_DRAWN, _BARE = 0.85, 0.15
"""Shares of a side at and over which an outline is drawn, and up to which there is none."""


Side = tuple[int, int, str]
"""A side of the cell in a row and column, both from 1: top, left, bottom or right."""

_SIDES = (("top", -1, 0), ("left", 0, -1), ("bottom", 1, 0), ("right", 0, 1))
"""Each side of a cell, and how many rows down and columns on the cell beyond it is."""


_Dash = tuple[float, float, DrawnLine]
"""The part of an outline that runs along a side: from where to where, in cells, and the line it is of."""


class _Lines:
    """What runs along each side: outlines inside a cell; and on each grid line, `level` or `upright` and counted
    from 0, the heaviest line beside each cell, also counted from 0.
    """

    def __init__(self, rows: int, columns: int) -> None:
        self.outlines: dict[Side, list[_Dash]] = {}
        self.level = [[0.0] * columns for _ in range(rows + 1)]
        self.upright = [[0.0] * rows for _ in range(columns + 1)]


def compare_cage_outlines(area: GridArea, wanted: Expected, told_apart: bool) -> Iterator[Difference]:
    """What the lines of a grid say that they should not, and the other way round.

    `told_apart` says that the lines between regions are heavier than those between cells.
    """
    place = area.place
    lines = _sorted_out(place, area.strokes)
    if wanted.fenced:
        for cell, message in _cages(area, wanted, lines):
            yield Difference(place.page, place.name, cell, message)
    for at, message in _grid_lines(wanted, lines, told_apart):
        yield Difference(place.page, place.name, at, message)
    for line in wanted.ruled:
        if not any(_along(place, line, stroke) for stroke in area.strokes):
            cell = place.cell_at(*_middle(place, line))
            yield Difference(place.page, place.name, cell, "its rule's line is not drawn")


def _middle(place: GridPlace, line: Segment) -> tuple[float, float]:
    (x1, y1), (x2, y2) = line
    return place.x + (x1 + x2) / 2 * place.cell - 0.01, place.y + (y1 + y2) / 2 * place.cell - 0.01


def _sorted_out(place: GridPlace, strokes: Iterable[DrawnLine]) -> _Lines:
    """Level and upright lines by the sides along which they run."""
    rows, columns = place.shown.puzzle.rows, place.shown.puzzle.columns
    lines, (left, top), cell = _Lines(rows, columns), place.corner(Cell(1, 1)), place.cell
    for stroke in strokes:
        x1, y1, x2, y2, weight, _ = stroke
        x1, y1, x2, y2 = (x1 - left) / cell, (y1 - top) / cell, (x2 - left) / cell, (y2 - top) / cell
        if y1 > y2:
            y1, y2 = y2, y1
        if y2 - y1 < _ON and x2 > x1:
            level, at, start, end = True, (y1 + y2) / 2, x1, x2
        elif x2 - x1 < _ON and y2 > y1:
            level, at, start, end = False, (x1 + x2) / 2, y1, y2
        else:
            continue
        near = round(at)
        off = at - near
        over, length = (rows, columns) if level else (columns, rows)
        if -_ON < off < _ON:
            if 0 <= near <= over:
                weights = (lines.level if level else lines.upright)[near]
                for along in range(max(0, floor(start - 0.4) + 1), min(length, ceil(end - 0.6))):
                    if weights[along] < weight:
                        weights[along] = weight
        elif -_INSIDE < off < _INSIDE and 0 <= (across := near if off > 0 else near - 1) < over:
            _run_along(lines.outlines, length, level, off > 0, across, start, end, stroke)
    return lines


def _run_along(
    outlines: dict[Side, list[_Dash]], length: int, level: bool, before: bool, across: int, start: float,
    end: float, stroke: DrawnLine,
) -> None:
    """Note a line within the cells of row or column `across`, from 0, near their first side or their second."""
    word = ("top" if before else "bottom") if level else ("left" if before else "right")
    for along in range(max(0, int(start)), min(length - 1, int(end)) + 1):
        side = (across + 1, along + 1, word) if level else (along + 1, across + 1, word)
        dash = start - along, end - along, stroke
        if side in outlines:
            outlines[side].append(dash)
        else:
            outlines[side] = [dash]


def _cages(area: GridArea, wanted: Expected, lines: _Lines) -> Iterator[tuple[Cell, str]]:
    due = _ends(tuple([cage.cells for cage in wanted.puzzle.cages]))
    amiss = dict.fromkeys(due - lines.outlines.keys(), 0.0)
    for side, dashes in lines.outlines.items():
        row, col, word = side
        if (row, col) in area.patches and (row, col) not in wanted.sums:    # a sum's patch lies over its outline
            dashes = [dash for dash in dashes if not _buried(area, Cell(row, col), word, dash)]
        whole = len(dashes) == 1 and dashes[0][0] <= _ASKED[0] and dashes[0][1] >= _ASKED[1]
        share = 1.0 if whole else _covered(dashes)
        if share < _DRAWN if side in due else share > _BARE:
            amiss[side] = share
    if not amiss:
        return
    for cell in wanted.puzzle.cells:
        for word, _, _ in _SIDES:
            side = (cell.row, cell.col, word)
            if side in amiss and side in due:
                what = "is missing" if amiss[side] <= _BARE else "is broken"
                yield cell, f"its cage's outline {what} on the {word}"
            elif side in amiss:
                yield cell, f"a cage's outline runs along its {word}, where no cage ends"


@lru_cache(maxsize=64)
def _ends(cages: tuple[tuple[Cell, ...], ...]) -> frozenset[Side]:
    """The sides where cages end."""
    owner = {cell: number for number, cells in enumerate(cages) for cell in cells}
    return frozenset((row, col, word) for (row, col), own in owner.items() for word, down, on in _SIDES
                     if owner.get(Cell(row + down, col + on)) != own)


def _covered(dashes: Sequence[_Dash]) -> float:
    """The share of the asked part of a side that an outline covers, gaps between dashes closed."""
    first, last = _ASKED
    for start, end, _ in dashes:
        if start <= first and end >= last:
            return 1.0
    covered, reached = 0.0, first
    for start, end in sorted((start, end) for start, end, _ in dashes):
        begin = reached if start - reached < _DASHED else start
        covered += max(0.0, min(end, last) - begin)
        reached = max(reached, end)
    if dashes and 0 < last - reached < _DASHED:
        covered += last - reached
    return covered / (last - first)


def _buried(area: GridArea, cell: Cell, word: str, dash: _Dash) -> bool:
    """Whether a good part of an outline was painted over."""
    left, top = area.place.corner(cell)
    level = word in ("top", "bottom")
    start, end, stroke = dash
    points = (_ASKED[0] + (_ASKED[1] - _ASKED[0]) * (step + 0.5) / 8 for step in range(8))
    return sum(
        area.hides(cell, left + at * area.place.cell if level else stroke.x1,
                   stroke.y1 if level else top + at * area.place.cell, stroke.order)
        for at in points if start <= at <= end
    ) > 1


def _grid_lines(wanted: Expected, lines: _Lines, told_apart: bool) -> Iterator[tuple[Cell | None, str]]:
    """Lines that are missing; and, where they are told apart, borders that look like cell lines or the reverse. A
    line round what an argument rests on is as heavy as a border.
    """
    cells = wanted.puzzle.cells
    borders: list[tuple[Cell, str, float]] = []
    inner: list[tuple[Cell, str, float]] = []
    rounded: list[tuple[Cell, str, float]] = []
    for cell, word, beyond, parts in _borders(cells, tuple([house.cells for house in wanted.puzzle.regions])):
        row, col = cell
        weight = lines.level[row][col - 1] if word == "bottom" else lines.upright[col][row - 1]
        if not weight:
            yield cell, f"the grid has no line on the {word}"
        elif parts is not None:         # the frame may be of any weight
            parted = wanted.bordered and _parted(wanted, cell, beyond)
            (rounded if parted else borders if parts else inner).append((cell, word, weight))
    for cell, over, before in _first_sides(cells):
        if over and not lines.level[cell.row - 1][cell.col - 1]:
            yield cell, "the grid has no line on the top"
        if before and not lines.upright[cell.col - 1][cell.row - 1]:
            yield cell, "the grid has no line on the left"
    if told_apart and borders and inner:
        heavy, light = (median(weight for *_, weight in some) for some in (borders, inner))
        if heavy < _HEAVIER * light:
            yield None, "the borders of its regions are no heavier than its cell lines"
            return
        limit = (heavy + light) / 2
        for cell, word, weight in borders:
            if weight <= limit:
                yield cell, f"the line on its {word} is thin, where a region ends"
        for cell, word, weight in rounded:
            if weight <= limit:
                yield cell, f"the line on its {word} is thin, where a house of the argument ends"
        for cell, word, weight in inner:
            if weight > limit:
                yield cell, f"the line on its {word} is heavy, where no region ends"


@lru_cache(maxsize=64)
def _borders(
    cells: tuple[Cell, ...], regions: tuple[tuple[Cell, ...], ...],
) -> tuple[tuple[Cell, str, Cell, bool | None], ...]:
    """Each cell's lower and right side, the cell beyond, and whether the two are in different regions; None where
    either is in none.
    """
    region = {cell: number for number, held in enumerate(regions) for cell in held}
    sides = [(cell, word, Cell(cell.row + down, cell.col + on)) for cell in cells
             for word, down, on in (("bottom", 1, 0), ("right", 0, 1))]
    return tuple((cell, word, beyond, region[cell] != region[beyond] if {cell, beyond} <= region.keys() else None)
                 for cell, word, beyond in sides)


@lru_cache(maxsize=64)
def _first_sides(cells: tuple[Cell, ...]) -> tuple[tuple[Cell, bool, bool], ...]:
    """Cells that none is above, or before, and which of the two it is."""
    all_cells = frozenset(cells)
    sides = [(cell, Cell(cell.row - 1, cell.col) not in all_cells, Cell(cell.row, cell.col - 1) not in all_cells)
             for cell in cells]
    return tuple(one for one in sides if one[1] or one[2])


def _parted(wanted: Expected, cell: Cell, beyond: Cell) -> bool:
    """Whether a heavier line runs between two cells."""
    return any((cell in cells) != (beyond in cells) for cells in wanted.bordered)


def _along(place: GridPlace, line: Segment, stroke: DrawnLine) -> bool:
    """Whether a stroke runs from end to end of a rule's line, either way."""
    ends = [(place.x + x * place.cell, place.y + y * place.cell) for x, y in line]
    return any(
        abs(stroke.x1 - x1) + abs(stroke.y1 - y1) + abs(stroke.x2 - x2) + abs(stroke.y2 - y2) < 0.2 * place.cell
        for (x1, y1), (x2, y2) in (ends, ends[::-1])
    )
