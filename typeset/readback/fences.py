"""The lines of one grid: cage outlines on both sides of every border and nowhere else, regions, frame, rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import NamedTuple

from cagework.solver.model import Cell, Puzzle
from cagework.typeset.readback.area import Area
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.leaf import Stroke
from cagework.typeset.readback.placed import Placed
from cagework.typeset.readback.wanted import Wanted

Span = tuple[float, float]
"""From where to where along a side, in cells from its start."""

_HEAVIER = 1.02
"""How many times as heavy a line is, at the least, that looks heavier."""

Segment = tuple[tuple[float, float], tuple[float, float]]
"""A rule's line from end to end, in cells from the grid's corner."""

_ON = 0.02
"""How near to a grid line a line lies that is taken to be one, in cells."""

_INSIDE = 0.25
"""How far from its cell's side a cage's outline may run, in cells."""

_ASKED: Span = (0.1, 0.9)
"""The part of a side that is looked at: outlines turn near the corners."""

_DASHED = 0.15
"""A gap shorter than this, in cells, is one between dashes."""

_DRAWN, _BARE = 0.85, 0.15
"""Shares of a side at and over which an outline is drawn, and up to which there is none."""


class Side(NamedTuple):
    """A side of a cell: `word` is top, left, bottom or right."""

    cell: Cell
    word: str


@dataclass(slots=True)
class _Lines:
    """What runs along each side: the spans of outlines inside a cell, and the heaviest line on each grid line."""

    outlines: dict[Side, list[tuple[Span, Stroke]]] = field(default_factory=dict)
    weights: dict[tuple[bool, int, int], float] = field(default_factory=dict)  # level?, grid line, place along it


def compare_fences(area: Area, wanted: Wanted, told_apart: bool) -> Iterator[Difference]:
    """What the lines of a grid say that they should not, and the other way round.

    `told_apart` says that the lines between regions are heavier than those between cells.
    """
    place = area.place
    lines = _sorted_out(place, area.strokes)
    if wanted.fenced:
        for side, message in _cages(area, wanted, lines):
            yield Difference(place.page, place.name, side.cell, message)
    for cell, message in _grid_lines(wanted.puzzle, lines.weights, told_apart):
        yield Difference(place.page, place.name, cell, message)
    for line in wanted.ruled:
        if not any(_along(place, line, stroke) for stroke in area.strokes):
            cell = place.cell_at(*_middle(place, line))
            yield Difference(place.page, place.name, cell, "its rule's line is not drawn")


def _middle(place: Placed, line: Segment) -> tuple[float, float]:
    (x1, y1), (x2, y2) = line
    return place.x + (x1 + x2) / 2 * place.cell - 0.01, place.y + (y1 + y2) / 2 * place.cell - 0.01


def _sorted_out(place: Placed, strokes: Iterable[Stroke]) -> _Lines:
    lines = _Lines()
    for stroke in strokes:
        x1, x2 = (stroke.x1 - place.x) / place.cell, (stroke.x2 - place.x) / place.cell
        y1, y2 = (stroke.top - place.y) / place.cell, (stroke.bottom - place.y) / place.cell
        if y2 - y1 < _ON and x2 > x1:
            _sort(lines, place.size, True, (y1 + y2) / 2, (x1, x2), stroke)
        elif x2 - x1 < _ON and y2 > y1:
            _sort(lines, place.size, False, (x1 + x2) / 2, (y1, y2), stroke)
    return lines


def _sort(lines: _Lines, size: int, level: bool, at: float, span: Span, stroke: Stroke) -> None:
    """Note a level or upright line, `at` cells down or across and `span` along, by the sides it runs along."""
    near = round(at)
    off = at - near
    first, last = max(0, int(span[0])), min(size - 1, int(span[1]))
    for along in range(first, last + 1):
        part = span[0] - along, span[1] - along
        if abs(off) < _ON:
            if part[0] < 0.4 and part[1] > 0.6:
                key = level, near, along
                lines.weights[key] = max(lines.weights.get(key, 0.0), stroke.weight)
        elif abs(off) < _INSIDE:
            across = near if off > 0 else near - 1
            if 0 <= across < size:
                cell = Cell(across + 1, along + 1) if level else Cell(along + 1, across + 1)
                word = ("top" if off > 0 else "bottom") if level else ("left" if off > 0 else "right")
                lines.outlines.setdefault(Side(cell, word), []).append((part, stroke))


def _cages(area: Area, wanted: Wanted, lines: _Lines) -> Iterator[tuple[Side, str]]:
    owner = {cell: number for number, cage in enumerate(wanted.puzzle.cages) for cell in cage.cells}
    for cell in wanted.puzzle.cells:
        for word, neighbour in _beside(cell):
            side = Side(cell, word)
            due = cell in owner and owner[cell] != owner.get(neighbour)
            there = lines.outlines.get(side, ())
            if not there and not due:
                continue
            if cell in area.patches and cell not in wanted.sums:  # a sum's own patch lies over its cell's outline
                there = [one for one in there if not _buried(area, side, *one)]
            share = _covered([span for span, _ in there])
            if due and share < _DRAWN:
                what = "is missing" if share <= _BARE else "is broken"
                yield side, f"its cage's outline {what} on the {word}"
            elif not due and share > _BARE:
                yield side, f"a cage's outline runs along its {word}, where no cage ends"


def _beside(cell: Cell) -> tuple[tuple[str, Cell], ...]:
    row, col = cell
    return (("top", Cell(row - 1, col)), ("left", Cell(row, col - 1)),
            ("bottom", Cell(row + 1, col)), ("right", Cell(row, col + 1)))


def _covered(spans: Sequence[Span]) -> float:
    """The share of the asked part of a side that spans cover, gaps between dashes closed."""
    if any(start <= _ASKED[0] and end >= _ASKED[1] for start, end in spans):
        return 1.0
    covered, reached = 0.0, _ASKED[0]
    for start, end in sorted(spans):
        begin = reached if start - reached < _DASHED else start
        covered += max(0.0, min(end, _ASKED[1]) - begin)
        reached = max(reached, end)
    if spans and 0 < _ASKED[1] - reached < _DASHED:
        covered += _ASKED[1] - reached
    return covered / (_ASKED[1] - _ASKED[0])


def _buried(area: Area, side: Side, span: Span, stroke: Stroke) -> bool:
    """Whether a good part of a span was painted over."""
    left, top = area.place.corner(side.cell)
    level = side.word in ("top", "bottom")
    points = (_ASKED[0] + (_ASKED[1] - _ASKED[0]) * (step + 0.5) / 8 for step in range(8))
    return sum(
        area.hides(side.cell, left + at * area.place.cell if level else stroke.x1,
                   stroke.y1 if level else top + at * area.place.cell, stroke.order)
        for at in points if span[0] <= at <= span[1]
    ) > 1


def _grid_lines(
    puzzle: Puzzle, weights: Mapping[tuple[bool, int, int], float], told_apart: bool,
) -> Iterator[tuple[Cell | None, str]]:
    """Lines that are missing; and, where they are told apart, borders that look like cell lines or the reverse."""
    region = {cell: number for number, house in enumerate(puzzle.regions) for cell in house.cells}
    cells = puzzle.cells
    borders: list[tuple[Cell, str, float]] = []
    inner: list[tuple[Cell, str, float]] = []
    for cell in cells:
        for word, neighbour in _beside(cell)[2:]:
            level = word == "bottom"
            key = (level, cell.row, cell.col - 1) if level else (level, cell.col, cell.row - 1)
            weight = weights.get(key, 0.0)
            if not weight:
                yield cell, f"the grid has no line on the {word}"
            elif neighbour in region or cell in region:
                parted = region.get(cell) != region.get(neighbour)
                (borders if parted else inner).append((cell, word, weight))
    for cell in cells:
        if cell.row == 1 and not weights.get((True, 0, cell.col - 1)):
            yield cell, "the grid has no line on the top"
        if cell.col == 1 and not weights.get((False, 0, cell.row - 1)):
            yield cell, "the grid has no line on the left"
    if told_apart and borders and inner:
        heavy, light = (median(weight for *_, weight in lines) for lines in (borders, inner))
        if heavy < _HEAVIER * light:
            yield None, "the borders of its regions are no heavier than its cell lines"
            return
        limit = (heavy + light) / 2
        for cell, word, weight in borders:
            if weight <= limit:
                yield cell, f"the line on its {word} is thin, where a region ends"
        for cell, word, weight in inner:
            if weight > limit:
                yield cell, f"the line on its {word} is heavy, where no region ends"


def _along(place: Placed, line: Segment, stroke: Stroke) -> bool:
    """Whether a stroke runs from end to end of a rule's line, either way."""
    ends = [(place.x + x * place.cell, place.y + y * place.cell) for x, y in line]
    return any(
        abs(stroke.x1 - x1) + abs(stroke.y1 - y1) + abs(stroke.x2 - x2) + abs(stroke.y2 - y2) < 0.2 * place.cell
        for (x1, y1), (x2, y2) in (ends, ends[::-1])
    )
