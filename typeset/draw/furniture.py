"""What pages carry besides their matter: running heads, folios, grade marks, the cage motif."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Iterator

from cagework.layouts.page import is_recto
from cagework.solver.model import Cell, Puzzle
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.book import Grades
from cagework.typeset.draw.cages import cage_fit, inset_ring, outline, rings
from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import MM, Fill, Group, Mark, Outline, rectangle

TRACKING = 0.09
"""Letterspacing of capitals, in ems."""

_TAB_CORNER = 1.6
"""The radius of a tab's corners, in mm."""
_ARC = 8
"""Straight pieces that make a quarter of a circle."""


def folio(setting: Setting, number: int) -> Group:
    """The page number at the foot, on the outer edge."""
    block, size = setting.block(number), setting.layout.type.small * 1.12
    y = block.bottom + 0.5 * setting.layout.margins.bottom * MM + size * 0.3
    place = setting.fonts.right if is_recto(number) else setting.fonts.left
    x = block.right if is_recto(number) else block.x
    return Group("folio", (place(x, y, str(number), "sans-semibold", size),))


def running_head(setting: Setting, number: int, verso: str, recto: str) -> Group:
    """The book on the left page, the section on the right, in small spaced capitals on the outer edge."""
    block, size = setting.block(number), _head_size(setting)
    text = recto if is_recto(number) else verso
    y = block.y - 0.42 * setting.layout.margins.top * MM
    place = setting.fonts.right if is_recto(number) else setting.fonts.left
    x = block.right if is_recto(number) else block.x
    shown = fitted(setting, text.upper(), "sans", size, block.width, TRACKING * size)
    return Group("running-head", (place(x, y, shown, "sans", size, tracking=TRACKING * size),))


def _head_size(setting: Setting) -> float:
    return setting.layout.type.small * 0.86


def head_is_cut(setting: Setting, text: str) -> bool:
    """Whether a running head has no room for a text, and cuts it short."""
    size = _head_size(setting)
    return setting.fonts.measure(text.upper(), "sans", size, TRACKING * size) > setting.block(1).width


def tab(setting: Setting, number: int, place: int, places: int) -> tuple[Group, ...]:
    """The tab of a page at its fore-edge, `place` of `places` down, running out over the bleed; none where the
    layout has no tabs or the book no bleed. Many tabs stand closer than the layout says.
    """
    tabs, bleed = setting.layout.tabs, setting.book.press.bleed
    if tabs is None or not bleed:
        return ()
    trim = setting.layout.trim
    step = min(tabs.height + tabs.gap, (trim.height - 2 * tabs.top) / places)
    high = step * tabs.height / (tabs.height + tabs.gap)
    y = tabs.top + place * step
    corner = min(_TAB_CORNER, high / 2, tabs.width)
    ring = _rounded(tabs.width, y, y + high, -bleed, corner)
    if is_recto(number):
        ring = [(trim.width - x, down) for x, down in ring]
    return (Group("tab", (Fill((tuple((x * MM, down * MM) for x, down in ring),), tabs.tint),)),)


def _rounded(right: float, top: float, bottom: float, left: float, radius: float) -> list[tuple[float, float]]:
    """A rectangle whose two right corners are rounded."""
    turns = [n * math.pi / 2 / _ARC for n in range(_ARC + 1)]
    upper = [(right - radius * (1 - math.sin(t)), top + radius * (1 - math.cos(t))) for t in turns]
    lower = [(right - radius * (1 - math.cos(t)), bottom - radius * (1 - math.sin(t))) for t in turns]
    return [(left, top), *upper, *lower, (left, bottom)]


def fitted(setting: Setting, text: str, face: str, size: float, width: float, tracking: float = 0.0) -> str:
    """`text`, or as much of it as `width` pt hold, ending in an ellipsis."""
    def fits(shown: str) -> bool:
        return setting.fonts.measure(shown, face, size, tracking) <= width

    def cut(length: int) -> str:
        return text[:length].rstrip("…").rstrip() + "…"

    if fits(text):
        return text
    length = bisect_left(range(1, len(text)), True, key=lambda length: not fits(cut(length)))
    while length < len(text) - 1 and fits(cut(length + 1)):     # kerning: a letter more may be narrower
        length += 1
    return cut(length)


def listed_grade(setting: Setting, grade: Grade | None, end: float, y: float, size: float) -> tuple[Mark, float]:
    """A grade as the book shows it in a list beside type of `size` pt, its right edge at `end` on baseline y: the
    mark, and where it begins. Without any, an empty group at `end`.
    """
    shown, fonts = setting.book.grades, setting.fonts
    if grade is None or shown is Grades.NONE:
        return Group("grade", ()), end
    if shown is Grades.MARKS:
        return grade_mark(grade, end - grade_width(size), y, size), end - grade_width(size)
    word, small = setting.words.grades[grade], size * 0.9
    return fonts.right(end, y, word, "sans", small), end - fonts.measure(word, "sans", small)


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
    """The book's ornament: the cages that lie wholly in a puzzle's first rows, some of them tinted; or, where
    cages are runs, its first rows of black squares and white.
    """
    cell = width / puzzle.columns
    if puzzle.shape is not None:
        return Group("motif", tuple(_chequered(puzzle, x, y, cell, rows, weight)))
    fit = cage_fit(cell)
    marks: list[Mark] = []
    for number, cage in enumerate(_inside(puzzle, rows)):
        if number % 3 == 1:
            shape = tuple(inset_ring(ring, cell, fit.inset, x, y) for ring in rings(cage))
            marks.append(Fill(shape, 0.1))
        path: Outline = outline(cage, cell, fit, x, y, weight)
        marks.append(path)
    return Group("motif", tuple(marks))


def _chequered(puzzle: Puzzle, x: float, y: float, cell: float, rows: int, weight: float) -> Iterator[Mark]:
    white = frozenset(puzzle.cells)
    for row in range(1, rows + 1):
        for col in range(1, puzzle.columns + 1):
            square = rectangle(x + (col - 1) * cell, y + (row - 1) * cell, cell, cell)
            yield Outline((square,), weight) if Cell(row, col) in white else Fill((square,), 1.0)


def _inside(puzzle: Puzzle, rows: int) -> Iterable[tuple[Cell, ...]]:
    return (cage.cells for cage in puzzle.cages if all(cell.row <= rows for cell in cage.cells))
