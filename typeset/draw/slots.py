"""Puzzles in their slots and answers in theirs: heading, grid, notes, and where to turn for the other."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from cagework.layouts.page import Box
from cagework.solver.model import Answer
from cagework.typeset.book import AnswersAt, Grades
from cagework.typeset.draw.clues import margin
from cagework.typeset.draw.describe import describe, figure, rules_in_words
from cagework.typeset.draw.foot import foot_marks
from cagework.typeset.draw.furniture import grade_mark, grade_width
from cagework.typeset.draw.grid import digit_size, draw_grid
from cagework.typeset.draw.labels import sums_have_room
from cagework.typeset.draw.look import LEAST_CELL, GridLook, answer_look, puzzle_look
from cagework.typeset.draw.setting import PageNumbers, Setting, answer_anchor, puzzle_anchor
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.draw.squares import Squares, squares_of
from cagework.typeset.draw.turn_to import turn_to
from cagework.typeset.entry import Entry
from cagework.typeset.marks import MM, Anchor, Group, Line, Link, Mark, PagePart, Tag, half_turned
from cagework.typeset.text.paragraph import SetLine, paragraphs

_SMALL_GRID = 9
"""Grids of fewer cells a side than this may take larger cells than the layout states, and so may the answers of
those of more, whose digits have two figures.
"""

_TURNED_LEADING = 1.2
"""From line to line of a title over an answer, in ems."""

_NOTE_LEADING = 1.38
"""From line to line of what stands below a puzzle, in ems."""

PENCILLED = 5.0
"""The side of a cell in mm that a reader can write in at ease (common practice)."""

_TURNED_SHARE, _LEAST_TURNED = 0.6, 3.2
"""The cells of a turned answer, as a share of those of answers at the back, and the least in mm: a little over
what can be read.
"""

_OVER_RULE, _UNDER_RULE = 0.85, 0.75
"""What is left over the rule under a heading, in ems of small type, and under it, in ems of a title."""

_NO_ROOM = 1.0
"""The cell of a grid that has no room, in pt."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Where in its slot a puzzle's grid begins, in pt from the slot's top, and the side of its cells in pt."""

    top: float
    cell: float


@dataclass(frozen=True, slots=True)
class WordsRoom:
    """How high a puzzle's words are, in pt: those over its grid, and those below it."""

    head: float
    foot: float


def words_room(setting: Setting, slot: Box, entry: Entry) -> WordsRoom:
    """What room a puzzle's words take in a slot; below the grid, its turned answer too, where it has one."""
    kind = setting.layout.type
    _, y = _heading(setting, slot, entry)
    below = _below(setting, entry, slot.width)
    return WordsRoom(y - slot.y + kind.small * _OVER_RULE + kind.title * _UNDER_RULE,
                     len(below) * kind.small * _NOTE_LEADING + kind.small * 2.6
                     + _answer_room(setting, slot, entry))


def own_placing(setting: Setting, slot: Box, entry: Entry, room: WordsRoom) -> Placing:
    """A puzzle's place in a slot that is as its own words leave it."""
    return Placing(room.head, fitting_cell(setting, slot, entry, room.head, room.foot))


def fitting_cell(setting: Setting, slot: Box, entry: Entry, top: float, foot: float) -> float:
    """The side of a puzzle's cells in pt, with so much of the slot kept over its grid and below it."""
    wished, frame = setting.layout.puzzles.cell, setting.layout.weights.frame
    squares, high = squares_of(entry.puzzle), slot.height - top - foot
    return _cell(wished, squares, slot.width, high, frame, margin(entry.rules))


def has_room(setting: Setting, entry: Entry, cell: float, least: float = PENCILLED) -> bool:
    """Whether cells of a side in pt are no smaller than `least` mm, and hold the sums of a puzzle."""
    return cell >= least * MM and sums_have_room(entry.puzzle, puzzle_look(setting.layout, cell), setting.fonts)


def puzzle_slot(
    setting: Setting, pages: PageNumbers, slot: Box, entry: Entry, placing: Placing, answer: Answer | None,
) -> PagePart:
    """One puzzle: number, title, grade and credit over the grid; under it its own rules and note, from its left
    edge where they have room, else one line in the middle and several from the slot's edge; and at the foot of the
    slot, where the book wants answers there, its answer upside down. A draft may lack it.
    """
    kind, fonts = setting.layout.type, setting.fonts
    head, _ = _heading(setting, slot, entry)
    below = _below(setting, entry, slot.width)
    look = puzzle_look(setting.layout, placing.cell)
    alt = describe(entry, setting.words.described, setting.sentences)
    leading = kind.small * _NOTE_LEADING
    squares, edge = squares_of(entry.puzzle), look.cell * margin(entry.rules)
    width = look.cell * squares.across
    left, y = slot.x + (slot.width - width) / 2, slot.y + placing.top + edge
    rule = slot.y + placing.top - kind.title * _UNDER_RULE
    marks: list[Mark] = [*head, Line(slot.x, rule, slot.right, rule, max(0.5, setting.layout.weights.cell))]
    shown = Shown(GridKind.PUZZLE, entry.id, entry.puzzle)
    grid = draw_grid(entry.puzzle, entry.rules, look, fonts, left, y + look.overhang, shows=shown)
    marks.append(figure(grid, alt))
    y += look.cell * squares.down + edge + look.overhang * 2 + kind.small * 0.55
    wide = max((at + fonts.measure(text, face, line.size) for line in below for at, text, face in line.words),
               default=0.0)
    aside = (slot.width - wide) / 2 if len(below) == 1 else 0.0
    start = left if left + wide <= slot.right else slot.x + aside
    notes: list[Mark] = []
    for line in below:
        y += leading
        notes.extend(line.marks(start, y))
    if notes:
        marks.append(Group("notes", tuple(notes), Tag.PARAGRAPH))
    y += leading + (kind.small * 0.25 if below else 0)
    turn, links = turn_to(setting, pages, entry, slot, left + width, y)
    if turn.marks:
        marks.append(turn)
    anchors, end = [Anchor(puzzle_anchor(entry.id), slot.y)], slot.right
    if setting.book.answers is AnswersAt.PAGE:
        anchors.append(Anchor(answer_anchor(entry.id), slot.y))
        turned, end = _turned_answer(setting, slot, left + width, entry, answer)
        marks.append(turned)
    top = y + (kind.small if turn.marks else 0.0)
    marks += foot_marks(setting, Box(slot.x, top, end - slot.x, slot.bottom - top), entry.puzzle)
    return PagePart(tuple(marks), links, tuple(anchors))


def _turned_look(setting: Setting, slot: Box, entry: Entry) -> GridLook:
    """How a turned answer is drawn: smaller than at the back of the book."""
    layout = setting.layout
    wished = max(_LEAST_TURNED, _TURNED_SHARE * layout.answers.cell)
    squares = squares_of(entry.puzzle, summed=False)
    return answer_look(layout, _cell(wished, squares, slot.width, slot.height, layout.weights.frame))


def _answer_room(setting: Setting, slot: Box, entry: Entry) -> float:
    """How high a turned answer is, with what parts it from the words above it, in pt; 0 where there is none."""
    if setting.book.answers is not AnswersAt.PAGE:
        return 0.0
    look = _turned_look(setting, slot, entry)
    return entry.puzzle.rows * look.cell + 2 * look.overhang + setting.layout.type.small


def _turned_answer(
    setting: Setting, slot: Box, right: float, entry: Entry, answer: Answer | None,
) -> tuple[Mark, float]:
    """An answer upside down at the foot of a slot, ranged right at `right` pt, and where what stands beside it has
    to end.
    """
    look = _turned_look(setting, slot, entry)
    wide, high = entry.puzzle.columns * look.cell, entry.puzzle.rows * look.cell
    left, top = min(right, slot.right - look.overhang) - wide, slot.bottom - look.overhang - high
    shown = Shown(GridKind.ANSWER, entry.id, entry.puzzle, turned=True)
    grid = draw_grid(entry.puzzle, entry.rules, look, setting.fonts, left, top, answer, shows=shown)
    alt = describe(entry, setting.words.described, setting.sentences, answer)
    turned = tuple(half_turned(mark, left + wide / 2, top + high / 2) for mark in grid.marks)
    return figure(replace(grid, marks=turned), alt), left - 2 * setting.layout.type.small


def _heading(setting: Setting, slot: Box, entry: Entry) -> tuple[tuple[Mark, ...], float]:
    """Number and title, grade to the right, credit beneath; and the y of the last line."""
    kind, fonts, size = setting.layout.type, setting.fonts, setting.layout.type.title
    number, title = setting.headed(entry)
    marks: list[Mark] = []
    y = slot.y + fonts[setting.bold].cap_height * size
    marks.append(fonts.left(slot.x, y, number, setting.bold, size))
    start = slot.x + fonts.measure(number, setting.bold, size) + size * 0.55
    end = slot.x + slot.width
    if entry.grade and setting.book.grades is not Grades.NONE:
        word = setting.words.grades[entry.grade]
        width = fonts.measure(word, "sans", kind.small)
        marks.append(fonts.left(end - width, y, word, "sans", kind.small))
        if setting.book.grades is Grades.MARKS:
            peaks = grade_width(kind.small * 1.25)
            marks.append(grade_mark(entry.grade, end - width - kind.small * 0.6 - peaks, y, kind.small * 1.25))
            end -= width + kind.small * 1.6 + peaks
        else:
            end -= width + kind.small
    for index, line in enumerate(setting.name(title, setting.roman, size, end - start) if title else ()):
        y += size * 1.12 if index else 0
        marks.extend(line.marks(start, y))
    marks = [Group("title", tuple(marks), Tag.SUBHEADING)]
    if not title:
        start = slot.x
    if entry.by:
        y += kind.small * 0.15
        said, small = setting.words.by.format(name=entry.by), kind.small * 1.08
        credit: list[Mark] = []
        for line in setting.name(said, setting.italic, small, slot.right - start):
            y += kind.small * 1.35
            credit.extend(line.marks(start, y))
        marks.append(Group("credit", tuple(credit), Tag.PARAGRAPH))
    return tuple(marks), y


def _below(setting: Setting, entry: Entry, measure: float) -> tuple[SetLine, ...]:
    """The puzzle's own rules, then its note."""
    size = setting.layout.type.small * 1.08
    said = rules_in_words(entry, setting.sentences)
    lines = setting.prose(" ".join(said), measure, size) if said else ()
    for paragraph in paragraphs(entry.note or ""):
        lines += setting.display(paragraph, setting.italic, size, measure)
    return lines


def _cell(
    wished_mm: float, squares: Squares, width: float, height: float, frame: float, edge: float = 0.0,
) -> float:
    """The cell side in pt: as the layout wishes, larger on small grids, no more than there is room for with
    `edge` cells on each side; where there is none, `_NO_ROOM`, and the page is refused when it is read.
    """
    wished = wished_mm * MM * math.sqrt(max(1.0, _SMALL_GRID / squares.most))
    return max(_NO_ROOM, min(wished, (width - frame) / (squares.across + 2 * edge),
                             (height - frame) / (squares.down + 2 * edge)))


@dataclass(frozen=True, slots=True)
class _AnswerParts:
    """The lines over an answer, what stands before and beside them in pt, and how the grid is drawn."""

    title: tuple[SetLine, ...]
    width: float
    lead: float
    look: GridLook

    def foot(self, small: float) -> float:
        """How far below its first line the last stands, in pt."""
        return max(0, len(self.title) - 1) * small * _TURNED_LEADING


def holds_answer(setting: Setting, slot: Box, entry: Entry, least: float = 0.0) -> bool:
    """Whether a slot has room for an answer and its title: for cells to be read, and digits of `least` pt."""
    widest = setting.words.puzzle_on.format(page="0000")
    look = _answer_parts(setting, slot, entry, widest).look
    return (look.cell >= LEAST_CELL * MM
            and digit_size(entry.puzzle.size, look, setting.fonts) >= least)


def _answer_parts(setting: Setting, slot: Box, entry: Entry, page: str) -> _AnswerParts:
    """A title longer than its line gives way to the short one, or turns over."""
    fonts, layout, small = setting.fonts, setting.layout, setting.layout.type.small
    number, title = setting.headed(entry)
    lead = fonts.measure(number, "sans-semibold", small) + small * 0.5
    aside = fonts.measure(page, "sans", small) + small * 0.6
    room = slot.width - lead - aside
    if entry.short_title and fonts.measure(title, "sans", small) > room:
        title = entry.short_title
    lines = setting.name(title, "sans", small, room) if title else ()
    head = small * 1.8 + max(0, len(lines) - 1) * small * _TURNED_LEADING
    wished = layout.answers.cell * math.sqrt(max(1.0, entry.puzzle.size / _SMALL_GRID))
    squares = squares_of(entry.puzzle, summed=False)
    look = answer_look(layout, _cell(wished, squares, slot.width, slot.height - head, layout.weights.frame))
    width = slot.width if len(lines) > 1 else lead + fonts.measure(title, "sans", small) + aside
    return _AnswerParts(lines, width, lead, look)


def answer_slot(
    setting: Setting, pages: PageNumbers, slot: Box, entry: Entry, answer: Answer | None,
) -> PagePart:
    """One answer: number and title over a small grid, and the page its puzzle is on. A draft may lack it."""
    fonts, small = setting.fonts, setting.layout.type.small
    page = setting.words.puzzle_on.format(page=pages.puzzle(entry.id))
    parts = _answer_parts(setting, slot, entry, page)
    side = parts.look.cell * entry.puzzle.columns
    left, y = slot.x + (slot.width - side) / 2, slot.y + small
    end = min(max(left + side, left + parts.width), slot.right)
    start = min(left, end - parts.width)
    number, _ = setting.headed(entry)
    marks: list[Mark] = [fonts.left(start, y, number, "sans-semibold", small)]
    for place, line in enumerate(parts.title):
        marks.extend(line.marks(start + parts.lead, y + place * small * _TURNED_LEADING))
    marks.append(fonts.right(end, y, page, "sans", small))
    foot = parts.foot(small)
    shown = Shown(GridKind.ANSWER, entry.id, entry.puzzle)
    top = y + foot + small * 0.6
    grid = draw_grid(entry.puzzle, entry.rules, parts.look, fonts, left, top, answer, shows=shown)
    alt = describe(entry, setting.words.described, setting.sentences, answer)
    link = Link(start, slot.y, end - start, small * 1.4 + foot, puzzle_anchor(entry.id), page)
    return PagePart((Group("title", tuple(marks), Tag.SUBHEADING), figure(grid, alt)), (link,),
                    (Anchor(answer_anchor(entry.id), slot.y),))
