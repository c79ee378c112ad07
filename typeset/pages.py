"""Pages still to be drawn, one part of a book at a time: how many a part takes, and how to draw each.

Counting needs no page numbers; drawing is handed them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType

from cagework.layouts.flow import Block, Column, Filled, foot
from cagework.layouts.fullest import fill, fill_pages, whitest
from cagework.layouts.load import Slots
from cagework.layouts.page import Box, roomier
from cagework.layouts.page import slots as places_of
from cagework.solver.model import Answer
from cagework.typeset.book import AnswersAt, Section, TextPage
from cagework.typeset.draw import matter, slots, worked
from cagework.typeset.draw.column import Piece, draw_column, heading, paragraph, whole_lines
from cagework.typeset.draw.describe import digits_met
from cagework.typeset.draw.furniture import head_is_cut
from cagework.typeset.draw.grid_sizes import Allotted, allot, page_runs
from cagework.typeset.draw.index import index_columns, index_pieces
from cagework.typeset.draw.look import LEAST_CELL
from cagework.typeset.draw.prose import prose_pieces
from cagework.typeset.draw.setting import (
    PageNumbers,
    Setting,
    answer_anchor,
    hints_anchor,
    puzzle_anchor,
    section_anchor,
    text_anchor,
    worked_anchor,
)
from cagework.typeset.draw.techniques import technique_pieces
from cagework.typeset.entry import Entry, Place
from cagework.typeset.examples import worked_example
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.marks import MM, Anchor, Group, Link, Mark, PagePart, Tag
from cagework.typeset.solving.worked import Worked
from cagework.typeset.text.paragraph import paragraphs

_NOWHERE = Place(Path(), 0, 0)
_NO_TARGETS: Mapping[int, str] = MappingProxyType({})

_WHITE = 0.1
"""Less than this share of a column's height is left white in columns that are full."""

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


def running_pages(
    setting: Setting, name: str, pieces: Sequence[Piece], head: str,
    ending: Callable[[Box, float], tuple[Mark, ...]] = lambda _block, _foot: (),
) -> list[PlannedPage]:
    """Pages that one column of running matter fills, the first the anchor `name`. The `ending` is what stands
    under the last, given its text block and where the matter ends, in pt.
    """
    blocks = [piece.block for piece in pieces]
    columns = fill(blocks, setting.block(1).height, setting.layout.type.leading)

    def draw(index: int, pages: PageNumbers, block: Box) -> PagePart:
        marks = draw_column(pieces, columns[index], pages, block.x, block.y)
        last = index == len(columns) - 1
        return PagePart(marks + ending(block, block.y + foot(blocks, columns[-1])) if last else marks)

    return [
        PlannedPage((name,) if index == 0 else (), head, partial(draw, index))
        for index in range(len(columns))
    ]


def introduction_pages(setting: Setting, text: str) -> list[PlannedPage]:
    """The introduction."""
    kind = setting.layout.type
    title = heading(setting, setting.words.introduction, setting.measure, kind.heading, 0, kind.heading * 0.7,
                    line=kind.leading)
    parts = (paragraph(setting, part, setting.measure, indent=number > 0)
             for number, part in enumerate(paragraphs(text)))
    return running_pages(setting, "introduction", (title, *parts), setting.book.head)


def text_pages(setting: Setting, number: int, page: TextPage) -> list[PlannedPage]:
    """A page of the publisher's own, number `number` from 0, or as many as its text takes."""
    anchor = text_anchor(number)
    head = page.title if page.title and not head_is_cut(setting, page.title) else setting.book.head
    pieces = prose_pieces(setting, page)
    blank = plain_page((anchor,), head, lambda _: ())
    leaves = running_pages(setting, anchor, pieces, head) if pieces else [blank]
    return leaves if page.numbered else [replace(leaf, head=None) for leaf in leaves]


def contents_pages(setting: Setting) -> list[PlannedPage]:
    """The contents, set as loosely as the fewest pages allow."""
    room = setting.block(1).height
    unit = room / (room // setting.layout.type.leading)     # whole lines: its rows are on no grid

    def tried(tight: float) -> tuple[Sequence[Piece], tuple[Column, ...]]:
        pieces = matter.contents_pieces(setting, tight)
        return pieces, fill([piece.block for piece in pieces], room, unit)

    _, fewest = tried(_TIGHTNESS[-1])
    pieces, columns = next((pieces, columns) for pieces, columns in map(tried, _TIGHTNESS)
                           if len(columns) <= len(fewest))
    targets = matter.contents_links(setting)

    def draw(index: int, pages: PageNumbers, block: Box) -> PagePart:
        column = columns[index]
        rows = [(targets[part.block], block.y + part.y, pieces[part.block].block.leading)
                for part in column if part.block in targets]
        marks = draw_column(pieces, column, pages, block.x, block.y)
        return PagePart(marks, matter.row_links(setting, rows, pages, block.x))

    return [
        PlannedPage(("contents",) if index == 0 else (), setting.words.contents, partial(draw, index))
        for index in range(len(columns))
    ]


def hint_pages(setting: Setting, works: Sequence[Worked | Entry], memory: LayoutCache) -> list[PlannedPage]:
    """The first hints for some puzzles; of one without a path the heading alone."""
    return _narrow_columns(setting, memory, "hints", setting.words.hints, lambda width, _: tuple(
        piece for one in works for piece in (
            (worked.bare_head(setting, one, width, hints_anchor(one.id)),) if isinstance(one, Entry) else
            memory.kept(f"hint {one.entry.id} {_form(setting)}", _made_of(setting, one),
                        lambda one=one: worked.hint_pieces(setting, (one,), width)))))  # type: ignore[misc]


def technique_pages(setting: Setting, ways: Sequence[str], memory: LayoutCache) -> list[PlannedPage]:
    """What the techniques named are, each with an example."""
    found = {name: worked_example(name) for name in ways}
    examples = {name: example for name, example in found.items() if example is not None}
    met = digits_met(entry.puzzle for entry in setting.book.entries)
    return _narrow_columns(setting, memory, "primer", setting.words.primer, lambda width, _: memory.kept(
        f"ways {_form(setting)}", (ways, met), lambda: technique_pieces(setting, ways, examples, width)))


def worked_pages(setting: Setting, works: Sequence[Worked | Entry], memory: LayoutCache) -> list[PlannedPage]:
    """The worked solutions of some puzzles, with pictures of the sizes that leave columns the least white; of one
    without a path the heading alone.
    """
    return _narrow_columns(setting, memory, "worked", setting.words.worked, lambda width, lean: tuple(
        piece for one in works for piece in (
            (worked.bare_head(setting, one, width, worked_anchor(one.id)),) if isinstance(one, Entry) else
            memory.kept(f"worked {one.entry.id} {_form(setting)} {lean}", _made_of(setting, one),
                        lambda one=one: worked.solution_pieces(setting, one, width, lean)))),  # type: ignore
        leans=(0, -1, 1))


def _form(setting: Setting) -> str:
    """What tells the layouts apart that one book is tried in."""
    return f"{setting.layout.margins.inside}"


def _made_of(setting: Setting, one: Worked) -> object:
    """What a worked solution's looks depend on: not where its puzzle stands in a file."""
    return replace(one.entry, place=_NOWHERE), one.path, setting.number_of[one.entry.id]


def index_pages(setting: Setting, memory: LayoutCache) -> list[PlannedPage]:
    """The index."""
    count, width = index_columns(setting)
    pieces, targets = index_pieces(setting, width)
    return _narrow_columns(setting, memory, "index", setting.words.index_title, lambda *_: pieces, (count, width),
                           targets)


def _narrow_columns(
    setting: Setting, memory: LayoutCache, name: str, title: str,
    pieces_of: Callable[[float, int], Sequence[Piece]], columns: tuple[int, float] | None = None,
    targets: Mapping[int, str] = _NO_TARGETS, leans: Sequence[int] = (0,),
) -> list[PlannedPage]:
    """Pages of narrow columns, so many of some width in pt, or as the layout has them, under a title on the first;
    `pieces_of` takes the width, and how pictures lean: so many ways are tried until one leaves no column as much
    as `_WHITE` short, but of pictures across all columns the first. `targets` says which piece is linked to which
    anchor.
    """
    plan = setting.layout.solutions
    block = setting.block(1)
    count, width = columns or (plan.columns, setting.column)
    tried: list[tuple[float, int, Sequence[Piece], Filled]] = []
    for lean in leans:
        pieces = pieces_of(width, lean)
        first = pieces[0].block.before if pieces else 0.0
        drop = whole_lines(setting.layout.type.heading * 2, setting.line) - first
        blocks = tuple([piece.block for piece in pieces])
        filled = _filled(memory, f"{name} columns {_form(setting)} {lean}",
                         (blocks, block.height, count, setting.line, drop))
        tried.append((whitest(blocks, filled, block.height), len(tried), pieces, filled))
        if tried[-1][0] < _WHITE * block.height or any(one.wide for one in blocks):
            break
    _, _, pieces, filled = min(tried)

    def draw(number: int, pages: PageNumbers, block: Box) -> PagePart:
        marks: tuple[Mark, ...] = ()
        if number == 0:
            marks = (_part_title(setting, block, title),)
        links: tuple[Link, ...] = ()
        anchors: tuple[Anchor, ...] = ()
        for band in filled[number]:
            for place, column in enumerate(band):
                left = block.x + place * (width + plan.gap * MM)
                marks += draw_column(pieces, column, pages, left, block.y)
                links += tuple(
                    Link(left, block.y + part.y, width, pieces[part.block].block.leading, target,
                         setting.words.puzzle_on.format(page=pages.of[target]))
                    for part in column if (target := targets.get(part.block)))
                anchors += tuple(Anchor(anchor, block.y + part.y) for part in column
                                 if part.first == 0 and (anchor := pieces[part.block].anchor))
        return PagePart(marks, links, anchors)

    begun = [tuple(anchor for band in page for column in band for part in column
                   if part.first == 0 and (anchor := pieces[part.block].anchor)) for page in filled]
    return [PlannedPage((name, *begun[0]) if number == 0 else begun[number], title, partial(draw, number))
            for number in range(len(filled))]


def _filled(memory: LayoutCache, name: str, of: tuple[tuple[Block, ...], float, int, float, float]) -> Filled:
    """`fill_pages`, or what it found the last time for the same, wholly or in part."""
    return memory.kept(name, of, lambda: fill_pages(*of, memory.filled(name)))


def allotted(setting: Setting) -> Mapping[str, Allotted]:
    """The slots that each puzzle of the book has, by its id, and its place in them: alike in all sections of one
    layout and one place for answers.
    """
    found: dict[str, Allotted] = {}
    for lead in setting.book.sections:
        alike = [section for section in setting.book.sections
                 if section.layout == lead.layout and section.answers is lead.answers]
        if lead is alike[0]:
            found |= allot(setting.within(lead), [section.entries for section in alike],
                           partial(_first, setting.block(1)))
    return found


def puzzle_pages(
    setting: Setting, entries: Sequence[Entry], places: Mapping[str, Allotted], head: str,
    answer_of: Callable[[Entry], Answer | None],
) -> list[PlannedPage]:
    """Some puzzles' own pages, fewer to a page where one has no room in the slot that the others have."""
    on_page = setting.book.answers is AnswersAt.PAGE
    kinds = (puzzle_anchor, answer_anchor) if on_page else (puzzle_anchor,)

    def draw(plan: Slots, run: range, pages: PageNumbers, block: Box) -> PagePart:
        return _gathered(
            slots.puzzle_slot(setting, pages, place.scaled(MM), entry, places[entry.id].placing,
                              answer_of(entry) if on_page else None)
            for place, entry in zip(places_of(block.scaled(1 / MM), plan), (entries[number] for number in run),
                                    strict=False))

    return [
        PlannedPage(tuple(anchor(entries[number].id) for number in run for anchor in kinds), head,
                    partial(draw, plan, run))
        for plan, run in page_runs([places[entry.id].plan for entry in entries])
    ]


def prints(setting: Setting, entry: Entry) -> bool:
    """Whether a page all to itself has room for a puzzle's grid, and one for its answer, whatever its words: the
    setting is that of its section.
    """
    bare, block, room = replace(entry, title="0", by=None, note=None), setting.block(1), _answer_room(setting)
    largest, answer = (roomier(plan)[-1] for plan in (setting.layout.puzzles, setting.layout.answers))
    slot = _first(block, largest)
    placing = slots.own_placing(setting, slot, bare, slots.words_room(setting, slot, bare))
    return (slots.has_room(setting, bare, placing.cell, LEAST_CELL)
            and slots.holds_answer(setting, _first(room, answer), bare))


def _first(block: Box, plan: Slots) -> Box:
    """The first of a plan's slots, in pt as the block is."""
    return places_of(block.scaled(1 / MM), plan)[0].scaled(MM)


def _answer_room(setting: Setting) -> Box:
    """Where answers stand on a page: as much on each as on the first, under its heading."""
    block, top = setting.block(1), setting.layout.type.heading * 2.0
    return Box(block.x, block.y + top, block.width, block.height - top)


def _answer_plans(setting: Setting, room: Box, entries: Sequence[Entry]) -> list[Slots]:
    """For each answer the smallest slots that hold it in digits no smaller than the layout's least sums, or the
    largest; for all of one size alike where that takes fewer pages than slots that change from one to the next.
    """
    plans, least = roomier(setting.layout.answers), setting.layout.type.label
    own = [next((number for number, plan in enumerate(plans)
                 if slots.holds_answer(setting, _first(room, plan), entry, least)), len(plans) - 1)
           for entry in entries]
    most: dict[tuple[int, int], int] = {}
    for entry, number in zip(entries, own, strict=True):
        size = entry.puzzle.rows, entry.puzzle.columns
        most[size] = max(number, most.get(size, 0))
    alike = [most[entry.puzzle.rows, entry.puzzle.columns] for entry in entries]
    return min(([plans[number] for number in each] for each in (own, alike)),
               key=lambda kept: len(page_runs(kept)))


def answer_pages(
    setting: Setting, entries: Sequence[Entry], answer_of: Callable[[Entry], Answer | None], name: str = "answers",
) -> list[PlannedPage]:
    """Answers under a heading on the first page, the anchor `name`; every page has as much room, so the grids stay
    alike, but for those that need a larger slot.
    """
    room, top = _answer_room(setting), setting.layout.type.heading * 2.0

    def draw(plan: Slots, run: range, pages: PageNumbers, block: Box) -> PagePart:
        area = Box(block.x, block.y + (0.0 if run.start else top), room.width, room.height)
        parts = [
            slots.answer_slot(setting, pages, place.scaled(MM), entries[number], answer_of(entries[number]))
            for place, number in zip(places_of(area.scaled(1 / MM), plan), run, strict=False)
        ]
        if run.start == 0:
            parts.insert(0, PagePart((_part_title(setting, block, setting.words.answers),)))
        return _gathered(parts)

    return [
        PlannedPage(_answer_anchors(name, entries, run), setting.words.answers, partial(draw, plan, run))
        for plan, run in page_runs(_answer_plans(setting, room, entries))
    ]


def _answer_anchors(name: str, entries: Sequence[Entry], run: range) -> tuple[str, ...]:
    first = (name,) if run.start == 0 else ()
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
    first, *rest = running_pages(
        setting, section_anchor(index), matter.opener_pieces(setting, index, section), section.head,
        partial(matter.ornament, setting, section))
    return [replace(first, head=None), *rest]
