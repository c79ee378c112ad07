"""Puzzles in their slots and answers in theirs: heading, grid, notes, and where to turn for the other."""

from __future__ import annotations

import math

from cagework.layouts.page import Box
from cagework.solver.model import Answer
from cagework.typeset.book import Entry
from cagework.typeset.draw.describe import describe, figure, rules_in_words
from cagework.typeset.draw.furniture import fitted, grade_mark, grade_width
from cagework.typeset.draw.grid import answer_look, draw_grid, puzzle_look
from cagework.typeset.draw.setting import PageNumbers, Setting, answer_anchor, puzzle_anchor
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.marks import MM, Anchor, Group, Line, Link, Mark, PagePart, Tag
from cagework.typeset.text.paragraph import SetLine, paragraphs

_SMALL_GRID = 9
"""Grids of fewer cells a side than this may take larger cells than the layout states."""

_NO_ROOM = 1.0
"""The cell of a grid that has no room, in pt."""


def puzzle_slot(setting: Setting, pages: PageNumbers, slot: Box, entry: Entry) -> PagePart:
    """One puzzle: number, title, grade and credit over the grid; its own rules and note under it."""
    kind, fonts = setting.layout.type, setting.fonts
    head, y = _heading(setting, slot, entry)
    alt = describe(entry, setting.words.described, setting.sentences)
    below = _below(setting, entry, slot.width)
    leading = kind.small * 1.38
    foot = len(below) * leading + kind.small * 2.6
    look = puzzle_look(setting.layout, _cell(setting.layout.puzzles.cell, entry.puzzle.size, slot.width,
                                             slot.bottom - y - foot, setting.layout.weights.frame))
    side = look.cell * entry.puzzle.size
    left = slot.x + (slot.width - side) / 2
    marks: list[Mark] = [*head]
    shown = Shown(GridKind.PUZZLE, entry.id, entry.puzzle)
    grid = draw_grid(entry.puzzle, entry.rules, look, fonts, left, y + look.overhang, shows=shown)
    marks.append(figure(grid, alt))
    y += side + look.overhang * 2 + kind.small * 0.55
    notes: list[Mark] = []
    for line in below:
        y += leading
        notes.extend(line.marks(slot.x, y))
    if notes:
        marks.append(Group("notes", tuple(notes), Tag.PARAGRAPH))
    y += leading + (kind.small * 0.25 if below else 0)
    said = setting.words.answer_on.format(page=pages.answer(entry.id))
    width = fonts.measure(said, "sans", kind.small)
    turn = fonts.left(left + side - width, y, said, "sans", kind.small)
    marks.append(Group("turn-to", (turn,), Tag.PARAGRAPH))
    link = Link(left + side - width, y - kind.small, width, kind.small * 1.3, answer_anchor(entry.id), said)
    return PagePart(tuple(marks), (link,), (Anchor(puzzle_anchor(entry.id), slot.y),))


def _heading(setting: Setting, slot: Box, entry: Entry) -> tuple[tuple[Mark, ...], float]:
    """Number and title, grade to the right, credit beneath, a fine rule; and the y where the grid may begin."""
    kind, fonts, size = setting.layout.type, setting.fonts, setting.layout.type.title
    number = str(setting.number_of[entry.id])
    marks: list[Mark] = []
    y = slot.y + fonts[setting.bold].cap_height * size
    marks.append(fonts.left(slot.x, y, number, setting.bold, size))
    start = slot.x + fonts.measure(number, setting.bold, size) + size * 0.55
    end = slot.x + slot.width
    if entry.grade:
        word = setting.words.grades[entry.grade]
        width = fonts.measure(word, "sans", kind.small)
        peaks = grade_width(kind.small * 1.25)
        marks.append(fonts.left(end - width, y, word, "sans", kind.small))
        marks.append(grade_mark(entry.grade, end - width - kind.small * 0.6 - peaks, y, kind.small * 1.25))
        end -= width + kind.small * 1.6 + peaks
    for index, line in enumerate(setting.display(entry.title, setting.roman, size, end - start)):
        y += size * 1.12 if index else 0
        marks.extend(line.marks(start, y))
    marks = [Group("title", tuple(marks), Tag.SUBHEADING)]
    if entry.by:
        y += kind.small * 1.5
        credit = setting.words.by.format(name=entry.by)
        room = slot.width - (start - slot.x)
        shown = fitted(setting, credit, setting.italic, kind.small * 1.08, room)
        marks.append(Group("credit", (fonts.left(start, y, shown, setting.italic, kind.small * 1.08),),
                           Tag.PARAGRAPH))
    y += kind.small * 0.85
    marks.append(Line(slot.x, y, slot.x + slot.width, y, max(0.5, setting.layout.weights.cell)))
    return tuple(marks), y + size * 0.75


def _below(setting: Setting, entry: Entry, measure: float) -> tuple[SetLine, ...]:
    """The puzzle's own rules, then its note."""
    size = setting.layout.type.small * 1.08
    said = rules_in_words(entry, setting.sentences)
    lines = setting.prose(" ".join(said), measure, size) if said else ()
    for paragraph in paragraphs(entry.note or ""):
        lines += setting.display(paragraph, setting.italic, size, measure)
    return lines


def _cell(wished_mm: float, size: int, width: float, height: float, frame: float) -> float:
    """The cell side in pt: as the layout wishes, larger on small grids, no more than there is room for; where
    there is none, `_NO_ROOM`, and the page is refused when it is read.
    """
    wished = wished_mm * MM * (math.sqrt(_SMALL_GRID / size) if size < _SMALL_GRID else 1.0)
    return max(_NO_ROOM, min(wished, (width - frame) / size, (height - frame) / size))


def answer_slot(
    setting: Setting, pages: PageNumbers, slot: Box, entry: Entry, answer: Answer | None,
) -> PagePart:
    """One answer: number and title over a small grid, and the page its puzzle is on. A draft may lack it."""
    kind, fonts = setting.layout.type, setting.fonts
    y = slot.y + kind.small
    number = str(setting.number_of[entry.id])
    page = setting.words.puzzle_on.format(page=pages.puzzle(entry.id))
    high = slot.bottom - y - kind.small * 0.8
    look = answer_look(setting.layout, _cell(setting.layout.answers.cell, entry.puzzle.size, slot.width, high,
                                             setting.layout.weights.frame))
    side = look.cell * entry.puzzle.size
    left = slot.x + (slot.width - side) / 2
    width = fonts.measure(page, "sans", kind.small)
    start = left + fonts.measure(number, "sans-semibold", kind.small) + kind.small * 0.5
    needed = start + fonts.measure(entry.title, "sans", kind.small) + kind.small * 0.6 + width
    end = min(max(left + side, needed), slot.x + slot.width)
    room = end - width - kind.small * 0.6 - start
    title = fitted(setting, entry.title, "sans", kind.small, room)
    marks = (
        Group("title", (fonts.left(left, y, number, "sans-semibold", kind.small),
                        fonts.left(start, y, title, "sans", kind.small),
                        fonts.right(end, y, page, "sans", kind.small)), Tag.SUBHEADING),
        figure(draw_grid(entry.puzzle, entry.rules, look, fonts, left, y + kind.small * 0.6,
                         answer, shows=Shown(GridKind.ANSWER, entry.id, entry.puzzle)),
               describe(entry, setting.words.described, setting.sentences, answer)),
    )
    link = Link(left, slot.y, end - left, kind.small * 1.4, puzzle_anchor(entry.id), page)
    return PagePart(marks, (link,), (Anchor(answer_anchor(entry.id), slot.y),))
