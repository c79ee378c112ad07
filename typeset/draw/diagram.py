"""A moment of a worked solution: the grid so far, the cells a step looks at, what it places or strikes."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from types import MappingProxyType

from cagework.layouts.load import Layout
from cagework.solver.model import Cell, Puzzle
from cagework.solver.rule import Rule
from cagework.solver.step import Digits, Step
from cagework.typeset.draw.grid import GridLook, draw_grid, figures_in_cell
from cagework.typeset.marks import Group, Line, Mark
from cagework.typeset.text.fonts import Fonts

_LEAST_LABEL = 5.2      # pt: beside the grid in full, a diagram's sums may be small
_MOST_CANDIDATES = 6


def diagram_look(layout: Layout, cell: float) -> GridLook:
    """Lines lighter than a puzzle's, sums as small as can be read."""
    weights = layout.weights
    return GridLook(cell, max(0.25, weights.cell * 0.7), max(0.3, weights.cage * 0.75), weights.region * 0.7,
                weights.frame * 0.7, least_label=max(_LEAST_LABEL, min(layout.type.label, 0.31 * cell)),
                digit_height=0.44)


def draw_step(
    puzzle: Puzzle, rules: tuple[Rule, ...], candidates: tuple[int, ...], placed: Mapping[Cell, int], step: Step,
    look: GridLook, fonts: Fonts, x: float, y: float, *, in_full: bool = False,
) -> Group:
    """The grid before a step, at (x, y) pt: focus cells tinted, new digits bold, struck candidates crossed out.

    Houses whose totals are added up are tinted more lightly. `candidates` are masks row by row and `placed` the
    digits known, both before the step. `in_full` shows the candidates of every open cell, each digit in a place
    of its own.
    """
    struck = dict(step.removes)
    new = dict(step.places)
    shown = focus(step)
    area = {cell for house in step.cites.added for cell in house.cells} - shown
    grid = draw_grid(puzzle, rules, look, fonts, x, y, marked=dict.fromkeys(sorted(shown), ""), area=sorted(area))
    marks: list[Mark] = [grid]
    given = {one.cell for one in puzzle.givens}
    summed = {cage.first for cage in puzzle.cages if cage.total is not None}
    for cell, digit in {**placed, **new}.items():
        if cell not in given:
            face = "sans-semibold" if cell in new else "sans"
            marks.append(figures_in_cell(cell, str(digit), look.digit_height, look, fonts, x, y, face))
    if in_full:
        marks += everywhere(puzzle, candidates, {*placed, *new}, look, fonts, x, y, struck)
    for cell in () if in_full else sorted(shown - set(placed) - set(new)):
        mask = candidates[(cell.row - 1) * puzzle.size + cell.col - 1]
        if cell in struck or mask.bit_count() <= _MOST_CANDIDATES:
            marks.extend(_candidates(cell, mask, struck.get(cell, 0), cell in summed, look, fonts, x, y))
    return Group("diagram", tuple(marks))


def focus(step: Step) -> frozenset[Cell]:
    """The cells a step looks at, fills or strikes digits from."""
    return frozenset((*step.cites.cells, *dict(step.removes), *dict(step.places)))


def everywhere(
    puzzle: Puzzle, candidates: tuple[int, ...], filled: Collection[Cell], look: GridLook, fonts: Fonts, x: float,
    y: float, struck: Mapping[Cell, int] = MappingProxyType({}),
) -> Iterator[Mark]:
    """The candidates of every cell that is not filled, in small figures under where a sum may stand."""
    across = math.ceil(math.sqrt(puzzle.size))
    down = math.ceil(puzzle.size / across)
    size = look.cell * 0.56 / max(across, 3)
    pitch, leading = look.cell * 0.76 / across, look.cell * 0.56 / down
    for cell, mask in zip(puzzle.cells, candidates, strict=True):
        for digit in () if cell in filled else Digits(mask):
            row, column = divmod(digit - 1, across)
            middle = x + (cell.col - 0.5) * look.cell + pitch * (column - (across - 1) / 2)
            base = y + cell.row * look.cell - look.cell * 0.14 - leading * (down - 1 - row)
            yield from _candidate(digit, middle, base, size, struck.get(cell, 0), fonts)


def _candidate(digit: int, middle: float, base: float, size: float, struck: int, fonts: Fonts) -> Iterator[Mark]:
    """One small digit, crossed out where it is struck."""
    yield fonts.centre(middle, base, str(digit), "sans", size)
    if struck >> digit - 1 & 1:
        reach, high = size * 0.32, fonts["sans"].figure_height * size
        yield Line(middle - reach, base + size * 0.06, middle + reach, base - high - size * 0.06, 0.5)


def _candidates(
    cell: Cell, mask: int, struck: int, summed: bool, look: GridLook, fonts: Fonts, x: float, y: float,
) -> Iterator[Mark]:
    """Small digits low in the cell so that a sum keeps its corner: in rows of three, or of five where a third row
    would run into the sum.
    """
    digits = list(Digits(mask))
    size = look.cell * 0.3
    if size < look.least_candidate or any(digit > 9 for digit in digits):
        return
    across, pitch = (5, 0.165) if summed and len(digits) > 6 else (3, 0.27)
    pitch, leading = look.cell * pitch, look.cell * 0.29
    rows = [digits[start:start + across] for start in range(0, len(digits), across)]
    foot = y + cell.row * look.cell - look.cell * 0.11
    for number, row in enumerate(reversed(rows)):
        base = foot - number * leading
        left = x + (cell.col - 0.5) * look.cell - pitch * (len(row) - 1) / 2
        for index, digit in enumerate(row):
            yield from _candidate(digit, left + index * pitch, base, size, struck, fonts)
