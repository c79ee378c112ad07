"""Pages still to be drawn, one part of a book at a time: how many a part takes, and how to draw each.

Counting needs no page numbers; drawing is handed them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from cagework.layouts.flow import Column, chunks, fill, fill_pages
from cagework.layouts.page import Box
from cagework.layouts.page import slots as places_of
from cagework.solver.model import Answer
from cagework.typeset.book import Entry, Place, Section
from cagework.typeset.draw import matter, slots, worked
from cagework.typeset.draw.column import Piece, draw_column, heading, paragraph
from cagework.typeset.draw.setting import PageNumbers, Setting, answer_anchor, puzzle_anchor, section_anchor
from cagework.typeset.draw.techniques import technique_pieces
from cagework.typeset.examples import worked_example
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.marks import MM, Group, Mark, PagePart, Tag
from cagework.typeset.solving.worked import Worked
from cagework.typeset.text.paragraph import paragraphs

_NOWHERE = Place(Path(), 0, 0)
_LEAST_LINES = 5
"""The fewest lines that a page of running matter ends with."""

_TIGHTNESS = (1.0, 0.94, 0.88)
"""Leadings the contents may be set at, as shares of the layout's."""


@dataclass(frozen=True, slots=True)
class PlannedPage:
    """One page to be: which anchors it holds, and how to draw it in its text block (pt) once every page has its
    number.

    `head` is the running head for a right-hand page; None for a page without head and folio. `tab` is the place
    of its tab at the fore-edge, from 0; None for a page without one.
    """

    anchors: tuple[str, ...]
    head: str | None
    draw: Callable[[PageNumbers, Box], PagePart]
    tab: int | None = None


def plain_page(
    anchors: tuple[str, ...], head: str | None, draw: Callable[[Box], tuple[Mark, ...]],
) -> PlannedPage:
    """A page that names no other page."""
    return PlannedPage(anchors, head, lambda _pages, block: PagePart(draw(block)))


def blank_page() -> PlannedPage:
    """A page with nothing on it."""
    return plain_page((), None, lambda _block: ())


def running_pages(setting: Setting, name: str, pieces: Sequence[Piece], head: str) -> list[PlannedPage]:
    """Pages that one column of running matter fills, the first the anchor `name`."""
    columns = _columns(pieces, setting.block(1).height)

    def draw(index: int, pages: PageNumbers, block: Box) -> PagePart:
        return PagePart(draw_column(pieces, columns[index], pages, block.x, block.y))

    return [
        PlannedPage((name,) if index == 0 else (), head, partial(draw, index))
        for index in range(len(columns))
    ]


def _columns(pieces: Sequence[Piece], room: float) -> tuple[Column, ...]:
    """Columns of height `room`, the last of no fewer lines than `_LEAST_LINES`, where those before it can spare
    some.
    """
    blocks = [piece.block for piece in pieces]
    columns = fill(blocks, room)
    for spared in range(1, _LEAST_LINES):
        if len(columns) < 2 or sum(part.last - part.first for part in columns[-1]) >= _LEAST_LINES:
            break
        shorter = fill(blocks, room - spared * blocks[columns[-1][-1].block].leading)
        columns = shorter if len(shorter) == len(columns) else columns
    return columns


def introduction_pages(setting: Setting, text: str) -> list[PlannedPage]:
    """The introduction."""
    kind = setting.layout.type
    title = heading(setting, setting.words.introduction, setting.measure, kind.heading, 0, kind.heading * 0.7)
    parts = (paragraph(setting, part, setting.measure, indent=number > 0)
             for number, part in enumerate(paragraphs(text)))
    return running_pages(setting, "introduction", (title, *parts), setting.book.title)


def contents_pages(setting: Setting) -> list[PlannedPage]:
    """The contents, set as loosely as the fewest pages allow."""
    room = setting.block(1).height
    tried = [(pieces, fill([piece.block for piece in pieces], room))
             for pieces in (matter.contents_pieces(setting, tight) for tight in _TIGHTNESS)]
    fewest = min(len(columns) for _, columns in tried)
    pieces, columns = next((pieces, columns) for pieces, columns in tried if len(columns) == fewest)
    targets = matter.contents_links(setting)

    def draw(index: int, pages: PageNumbers, block: Box) -> PagePart:
        column = columns[index]
        rows = [(targets[part.block], block.y + part.y) for part in column if part.block in targets]
        marks = draw_column(pieces, column, pages, block.x, block.y)
        return PagePart(marks, matter.row_links(setting, rows, pages, block.x))

    return [
        PlannedPage(("contents",) if index == 0 else (), setting.words.contents, partial(draw, index))
        for index in range(len(columns))
    ]


def hint_pages(setting: Setting, works: Sequence[Worked], memory: LayoutCache) -> list[PlannedPage]:
    """The first hints for some puzzles."""
    return _narrow_columns(setting, "hints", setting.words.hints, lambda width: tuple(
        piece for one in works for piece in memory.pieces(
            f"hint {one.entry.id} {_form(setting)}", _made_of(setting, one),
            lambda one=one: worked.hint_pieces(setting, (one,), width))))  # type: ignore[misc]


def technique_pages(setting: Setting, ways: Sequence[str], memory: LayoutCache) -> list[PlannedPage]:
    """What the techniques named are, each with an example."""
    found = {name: worked_example(name) for name in ways}
    examples = {name: example for name, example in found.items() if example is not None}
    return _narrow_columns(setting, "primer", setting.words.primer, lambda width: memory.pieces(
        f"ways {_form(setting)}", ways, lambda: technique_pieces(setting, ways, examples, width)))


def worked_pages(setting: Setting, works: Sequence[Worked], memory: LayoutCache) -> list[PlannedPage]:
    """The worked solutions of some puzzles."""
    return _narrow_columns(setting, "worked", setting.words.worked, lambda width: tuple(
        piece for one in works for piece in memory.pieces(
            f"worked {one.entry.id} {_form(setting)}", _made_of(setting, one),
            lambda one=one: worked.solution_pieces(setting, one, width))))  # type: ignore[misc]


def _form(setting: Setting) -> str:
    """What tells the layouts apart that one book is tried in."""
    return f"{setting.layout.margins.inside}"


def _made_of(setting: Setting, one: Worked) -> object:
    """What a worked solution's looks depend on: not where its puzzle stands in a file."""
    return replace(one.entry, place=_NOWHERE), one.path, setting.number_of[one.entry.id]


def _narrow_columns(
    setting: Setting, name: str, title: str, pieces_of: Callable[[float], Sequence[Piece]],
) -> list[PlannedPage]:
    """Pages of the layout's narrow columns, under a title on the first; `pieces_of` takes a width in pt."""
    plan = setting.layout.solutions
    block = setting.block(1)
    width = setting.column
    drop = setting.layout.type.heading * 2
    pieces = pieces_of(width)
    first = pieces[0].block.before if pieces else 0.0
    filled = fill_pages([piece.block for piece in pieces], block.height, plan.columns, drop - first)

    def draw(number: int, pages: PageNumbers, block: Box) -> PagePart:
        marks: tuple[Mark, ...] = ()
        if number == 0:
            marks = (_part_title(setting, block, title),)
        for band in filled[number]:
            for place, column in enumerate(band):
                left = block.x + place * (width + plan.gap * MM)
                marks += draw_column(pieces, column, pages, left, block.y)
        return PagePart(marks)

    return [PlannedPage((name,) if number == 0 else (), title, partial(draw, number))
            for number in range(len(filled))]


def puzzle_pages(setting: Setting, entries: Sequence[Entry], head: str) -> list[PlannedPage]:
    """Some puzzles' own pages."""
    plan = setting.layout.puzzles

    def draw(run: range, pages: PageNumbers, block: Box) -> PagePart:
        places = places_of(block.scaled(1 / MM), plan)
        return _gathered(slots.puzzle_slot(setting, pages, place.scaled(MM), entries[number])
                         for place, number in zip(places, run, strict=False))

    return [
        PlannedPage(tuple(puzzle_anchor(entries[number].id) for number in run), head, partial(draw, run))
        for run in chunks(len(entries), plan.columns * plan.rows)
    ]


def answer_pages(
    setting: Setting, entries: Sequence[Entry], answer_of: Callable[[Entry], Answer | None],
) -> list[PlannedPage]:
    """Answers under a heading on the first page; every page has as much room, so the grids stay alike."""
    plan, top = setting.layout.answers, setting.layout.type.heading * 2.0

    def draw(run: range, pages: PageNumbers, block: Box) -> PagePart:
        area = Box(block.x, block.y + (0.0 if run.start else top), block.width, block.height - top)
        parts = [
            slots.answer_slot(setting, pages, place.scaled(MM), entries[number], answer_of(entries[number]))
            for place, number in zip(places_of(area.scaled(1 / MM), plan), run, strict=False)
        ]
        if run.start == 0:
            parts.insert(0, PagePart((_part_title(setting, block, setting.words.answers),)))
        return _gathered(parts)

    return [
        PlannedPage(_answer_anchors(entries, run), setting.words.answers, partial(draw, run))
        for run in chunks(len(entries), plan.columns * plan.rows)
    ]


def _answer_anchors(entries: Sequence[Entry], run: range) -> tuple[str, ...]:
    first = ("answers",) if run.start == 0 else ()
    return first + tuple(answer_anchor(entries[number].id) for number in run)


def _part_title(setting: Setting, block: Box, title: str) -> Mark:
    size = setting.layout.type.heading
    said = setting.fonts.left(block.x, block.y + size * 0.86, title, setting.bold, size)
    return Group("title", (said,), Tag.HEADING)


def _gathered(parts: Iterable[PagePart]) -> PagePart:
    parts = tuple(parts)
    return PagePart(
        tuple(mark for part in parts for mark in part.marks),
        tuple(link for part in parts for link in part.links),
        tuple(anchor for part in parts for anchor in part.anchors),
    )


def opener_pages(setting: Setting, index: int, section: Section) -> list[PlannedPage]:
    """The pages that open section number `index`, from 0; an ornament ends them where it has room."""
    pieces = matter.opener_pieces(setting, index, section)
    columns = _columns(pieces, setting.block(1).height)
    last = columns[-1][-1]
    foot = last.y + (last.last - last.first) * pieces[last.block].block.leading

    def draw(number: int, pages: PageNumbers, block: Box) -> PagePart:
        marks = draw_column(pieces, columns[number], pages, block.x, block.y)
        if number == len(columns) - 1:
            marks += matter.ornament(setting, block, section, block.y + foot)
        return PagePart(marks)

    return [PlannedPage((section_anchor(index),) if number == 0 else (), section.title if number else None,
                        partial(draw, number)) for number in range(len(columns))]
