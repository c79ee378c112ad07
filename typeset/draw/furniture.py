"""What pages carry besides their matter: running heads, folios, grade marks, the cage motif."""

from __future__ import annotations

from collections.abc import Iterable

from cagework.layouts.page import is_recto
from cagework.solver.grade import Grade
from cagework.solver.model import Cell, Puzzle
from cagework.typeset.draw.cages import cage_fit, inset_ring, outline, rings
from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import MM, Fill, Group, Mark, Outline

TRACKING = 0.09
"""Letterspacing of capitals, in ems."""


def folio(setting: Setting, number: int) -> Group:
    """The page number at the foot, on the outer edge."""
    block, size = setting.block(number), setting.layout.type.small * 1.12
    y = block.bottom + 0.5 * setting.layout.margins.bottom * MM + size * 0.3
    place = setting.fonts.right if is_recto(number) else setting.fonts.left
    x = block.right if is_recto(number) else block.x
    return Group("folio", (place(x, y, str(number), "sans-semibold", size),))


def running_head(setting: Setting, number: int, verso: str, recto: str) -> Group:
    """The book on the left page, the section on the right, in small spaced capitals on the outer edge."""
    block, size = setting.block(number), setting.layout.type.small * 0.86
    text = recto if is_recto(number) else verso
    y = block.y - 0.42 * setting.layout.margins.top * MM
    place = setting.fonts.right if is_recto(number) else setting.fonts.left
    x = block.right if is_recto(number) else block.x
    shown = fitted(setting, text.upper(), "sans", size, block.width, TRACKING * size)
    return Group("running-head", (place(x, y, shown, "sans", size, tracking=TRACKING * size),))


def fitted(setting: Setting, text: str, face: str, size: float, width: float, tracking: float = 0.0) -> str:
    """`text`, or as much of it as `width` pt hold, ending in an ellipsis."""
    shown = text
    while shown and setting.fonts.measure(shown, face, size, tracking) > width:
        shown = shown.rstrip("…")[:-1].rstrip() + "…"
        if shown == "…":
            break
    return shown


def grade_width(size: float) -> float:
    """The width of a grade mark beside type of `size` pt."""
    return 4 * size * 0.62 - size * 0.1


def grade_mark(grade: Grade, x: float, y: float, size: float) -> Group:
    """Four peaks, each higher than the last, on baseline y from x: as many solid as the grade has steps."""
    steps = list(Grade)
    marks: list[Mark] = []
    for index in range(len(steps)):
        left = x + index * size * 0.62
        high = size * (0.42 + 0.13 * index)
        peak = ((left, y), (left + size * 0.26, y - high), (left + size * 0.52, y))
        marks.append(Fill((peak,), 1.0 if index <= steps.index(grade) else 0.22))
    return Group("grade", tuple(marks))


def motif(puzzle: Puzzle, x: float, y: float, width: float, rows: int, weight: float) -> Group:
    """The book's ornament: the cages that lie wholly in a puzzle's first rows, some of them tinted."""
    cell = width / puzzle.size
    fit = cage_fit(cell)
    marks: list[Mark] = []
    for number, cage in enumerate(_inside(puzzle, rows)):
        if number % 3 == 1:
            shape = tuple(inset_ring(ring, cell, fit.inset, x, y) for ring in rings(cage))
            marks.append(Fill(shape, 0.1))
        path: Outline = outline(cage, cell, fit, x, y, weight)
        marks.append(path)
    return Group("motif", tuple(marks))


def _inside(puzzle: Puzzle, rows: int) -> Iterable[tuple[Cell, ...]]:
    return (cage.cells for cage in puzzle.cages if all(cell.row <= rows for cell in cage.cells))
