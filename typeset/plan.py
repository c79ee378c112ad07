"""A book and its answers to finished pages: what stands on which page, then each page drawn.

The order is fixed first, by counting lines and slots; only then is anything drawn, so every page number a
page mentions is known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType

from cagework.layouts.flow import chunks, fill
from cagework.layouts.page import Box, slots
from cagework.solver.model import Answer
from cagework.typeset.book import Book, Entry, Place, Section, SectionStart, Solutions, SparePages
from cagework.typeset.draw import furniture, matter, pages, primer, worked
from cagework.typeset.draw.column import Piece, draw_column, heading, paragraph
from cagework.typeset.draw.ruled import ruled_page
from cagework.typeset.draw.setting import Setting, answer_anchor, puzzle_anchor, section_anchor
from cagework.typeset.draw.ways import way_pieces, ways_used
from cagework.typeset.examples import worked_example
from cagework.typeset.marks import MM, Anchor, Group, Link, Mark, Page, Tag
from cagework.typeset.memory import Memory
from cagework.typeset.pdf import Bookmark
from cagework.typeset.prose import paragraphs
from cagework.typeset.text import Fonts
from cagework.typeset.words import Words
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.work import Worked

_NOWHERE = Place(Path(), 0, 0)
_TIGHTNESS = (1.0, 0.94, 0.88)
"""Leadings the contents may be set at, as shares of the layout's."""

Drawn = tuple[tuple[Mark, ...], tuple[Link, ...], tuple[Anchor, ...]]


@dataclass(frozen=True, slots=True)
class Leaf:
    """One page to be: which anchors it holds, and how to draw it in its text block (pt).

    `head` is the running head for a right-hand page; None for a page without head and folio. `tab` is the place
    of its tab at the fore-edge, from 0; None for a page without one.
    """

    anchors: tuple[str, ...]
    head: str | None
    draw: Callable[[Box], Drawn]
    tab: int | None = None


@dataclass(frozen=True, slots=True)
class Pages:
    """The finished book: pages in order, the outline, and the setting they were drawn in, its layout as the
    number of pages made it.
    """

    pages: tuple[Page, ...]
    bookmarks: tuple[Bookmark, ...]
    setting: Setting


@dataclass(frozen=True, slots=True)
class Solved:
    """What was found of a book's puzzles, by id: the answers, and the worked paths.

    A draft may lack some, and leaves their places empty; a book for print may not.
    """

    answers: Mapping[str, Answer]
    works: Mapping[str, Worked]
    draft: bool = False

    def answer(self, entry: Entry) -> Answer | None:
        """A puzzle's answer. KeyError where there is none and this is no draft."""
        return self.answers.get(entry.id) if self.draft else self.answers[entry.id]

    def told(self, entries: Iterable[Entry]) -> list[Worked]:
        """The paths of some puzzles. KeyError where one is missing and this is no draft."""
        return [self.works[entry.id] for entry in entries if not self.draft or entry.id in self.works]


@dataclass(frozen=True, slots=True)
class Plan:
    """Every page's place and matter, nothing drawn yet. Pages count from 1."""

    setting: Setting
    leaves: tuple[Leaf, ...]

    def page(self, number: int) -> Page:
        """One page, drawn."""
        return _page(self.setting, self.leaves[number - 1], number)


def lay_out(book: Book, solved: Solved, fonts: Fonts, words: Words) -> Pages:
    """All pages of a book."""
    plan = plan_book(book, solved, fonts, words, Memory())
    pages = tuple(plan.page(number) for number in range(1, len(plan.leaves) + 1))
    return Pages(pages, tuple(_bookmarks(plan.setting)), plan.setting)


def plan_book(book: Book, solved: Solved, fonts: Fonts, words: Words, memory: Memory) -> Plan:
    """Decide what stands on which page. What `memory` holds of an earlier plan is used again; that plan's pages
    may not be drawn after this.

    More pages may need a wider inside margin, and that more pages: the margin grows until both fit, and never
    shrinks, so that ends.
    """
    memory.begin(book.layout, book.language, fonts)
    memory.number_of.update((entry.id, number) for number, entry in enumerate(book.entries, 1))
    while True:
        setting = Setting(book, fonts, words, Sentences(book.language), MappingProxyType(memory.page_of),
                          MappingProxyType(memory.number_of))
        leaves = _leaves(setting, solved, memory)
        fitting = book.layout.for_pages(len(leaves))
        if fitting == book.layout:
            break
        book = replace(book, layout=fitting)
    memory.page_of.update((anchor, number) for number, leaf in enumerate(leaves, 1) for anchor in leaf.anchors)
    return Plan(setting, tuple(leaves))


def _page(setting: Setting, leaf: Leaf, number: int) -> Page:
    marks, links, anchors = leaf.draw(setting.block(number))
    held = {anchor.name for anchor in anchors}
    anchors = (*(Anchor(name, 0.0) for name in leaf.anchors if name not in held), *anchors)
    if leaf.tab is not None:
        marks = (*furniture.tab(setting, number, leaf.tab, _tab_count(setting.book)), *marks)
    if leaf.head is not None:
        marks += (furniture.folio(setting, number),)
        if setting.book.pages.running_heads:
            marks += (furniture.running_head(setting, number, setting.book.title, leaf.head),)
    trim = setting.layout.trim
    return Page(trim.width * MM, trim.height * MM, marks, links, anchors)


def _leaves(setting: Setting, solved: Solved, memory: Memory) -> list[Leaf]:
    """The whole book in order, brought to the number of pages its binding needs."""
    book = setting.book
    leaves = _front(setting)
    for index, section in enumerate(book.sections):
        _to_start(leaves, book)
        leaves += _tabbed(_section(setting, index, section), book, index)
    _to_start(leaves, book)
    if book.pages.first_hints:
        leaves += _hints(setting, solved.told(book.entries), memory)
        _to_start(leaves, book)
    answers = _tabbed(_answers(setting, tuple(book.entries), solved), book, len(book.sections))
    leaves += _between(setting, leaves, answers)
    leaves += answers
    told = solved.told(entry for entry in book.entries if entry.solutions is not Solutions.NONE)
    if told or book.pages.first_hints:
        _to_start(leaves, book)
        leaves += _ways(setting, ways_used(solved.works.values(), book.pages.first_hints), memory)
    if told:
        _to_start(leaves, book)
        leaves += _tabbed(_worked(setting, told, memory), book, len(book.sections) + 1)
    return leaves + [_spare(setting)] * (-len(leaves) % book.press.multiple)


def _front(setting: Setting) -> list[Leaf]:
    book, words = setting.book, setting.words
    leaves = [
        Leaf(("title",), None, lambda block: (matter.title_page(setting, block), (), ())),
        Leaf(("imprint",), None, lambda block: (matter.imprint_page(setting, block), (), ())),
    ]
    if book.pages.contents:
        leaves += _contents(setting)
    if book.introduction:
        leaves += _column(setting, "introduction", _introduction(setting, book.introduction), book.title)
    if book.pages.how_to_solve:
        leaves += _column(setting, "how", primer.primer_pieces(setting), words.how)
    return leaves


def _section(setting: Setting, index: int, section: Section) -> list[Leaf]:
    pages_of = _puzzles(setting, section.entries, section.title)
    if _is_whole_book(setting.book):
        first, *rest = pages_of
        return [replace(first, anchors=(*first.anchors, section_anchor(index))), *rest]
    return [Leaf((section_anchor(index),), None, partial(_opener, setting, index, section)), *pages_of]


def _tabbed(leaves: Sequence[Leaf], book: Book, place: int) -> list[Leaf]:
    """The leaves with a tab, where the book has more than one section to tell apart."""
    return [replace(leaf, tab=place if _tab_count(book) else None) for leaf in leaves]


def _tab_count(book: Book) -> int:
    """How many places for tabs there are: a section each, the answers, the worked solutions."""
    if len(book.sections) < 2:
        return 0
    return len(book.sections) + 1 + any(entry.solutions is not Solutions.NONE for entry in book.entries)


def _between(setting: Setting, leaves: Sequence[Leaf], answers: Sequence[Leaf]) -> list[Leaf]:
    """The pages to put before the answers so that none of them faces its puzzle. A left-hand page, of an even
    number, faces the one after it.
    """
    last, first = leaves[-1].anchors, answers[0].anchors
    if len(leaves) % 2 or not any(puzzle_anchor(entry.id) in last and answer_anchor(entry.id) in first
                                  for entry in setting.book.entries):
        return []
    right = setting.book.pages.sections_start is SectionStart.RIGHT
    return [_spare(setting)] * (2 if right else 1)


def _spare(setting: Setting) -> Leaf:
    """A page that only the number of pages asks for."""
    if setting.book.press.fill is SparePages.NOTES:
        return Leaf((), setting.words.notes, lambda block: (ruled_page(setting, block), (), ()))
    return Leaf((), None, lambda _: ((), (), ()))


def _is_whole_book(book: Book) -> bool:
    """Whether the only section is the book itself, which then needs no page to open it."""
    return len(book.sections) == 1 and book.sections[0].title == book.title and not book.sections[0].intro


def _opener(setting: Setting, index: int, section: Section, block: Box) -> Drawn:
    return matter.opener_page(setting, block, index, section), (), ()


def _to_start(leaves: list[Leaf], book: Book) -> None:
    """Let the next page be one a section may begin on, by a blank page where need be."""
    if len(leaves) % 2 and book.pages.sections_start is SectionStart.RIGHT:
        leaves.append(Leaf((), None, lambda _: ((), (), ())))


def _column(setting: Setting, name: str, pieces: Sequence[Piece], head: str) -> list[Leaf]:
    """Pages that one column of running matter fills."""
    columns = fill([piece.block for piece in pieces], setting.block(1).height)

    def draw(index: int, block: Box) -> Drawn:
        return draw_column(pieces, columns[index], block.x, block.y), (), ()

    return [
        Leaf((name,) if index == 0 else (), head, partial(draw, index))
        for index in range(len(columns))
    ]


def _introduction(setting: Setting, text: str) -> tuple[Piece, ...]:
    kind = setting.layout.type
    title = heading(setting, setting.words.introduction, setting.measure, kind.heading, 0, kind.heading * 0.7)
    return (title, *(
        paragraph(setting, part, setting.measure, indent=number > 0)
        for number, part in enumerate(paragraphs(text))
    ))


def _contents(setting: Setting) -> list[Leaf]:
    """The contents, set as loosely as the fewest pages allow."""
    room = setting.block(1).height
    tried = [(pieces, fill([piece.block for piece in pieces], room))
             for pieces in (matter.contents_pieces(setting, tight) for tight in _TIGHTNESS)]
    fewest = min(len(columns) for _, columns in tried)
    pieces, columns = next((pieces, columns) for pieces, columns in tried if len(columns) == fewest)
    targets = matter.contents_links(setting)

    def draw(index: int, block: Box) -> Drawn:
        column = columns[index]
        rows = [(targets[part.block], block.y + part.y) for part in column if part.block in targets]
        marks = draw_column(pieces, column, block.x, block.y)
        return marks, matter.row_links(setting, rows, block.x), ()

    return [
        Leaf(("contents",) if index == 0 else (), setting.words.contents, partial(draw, index))
        for index in range(len(columns))
    ]


def _hints(setting: Setting, works: Sequence[Worked], memory: Memory) -> list[Leaf]:
    return _narrow_columns(setting, "hints", setting.words.hints, lambda width: tuple(
        piece for one in works for piece in memory.pieces(
            f"hint {one.entry.id} {_form(setting)}", _made_of(setting, one),
            lambda one=one: worked.hint_pieces(setting, (one,), width))))  # type: ignore[misc]


def _ways(setting: Setting, ways: Sequence[str], memory: Memory) -> list[Leaf]:
    found = {name: worked_example(name) for name in ways}
    examples = {name: example for name, example in found.items() if example is not None}
    return _narrow_columns(setting, "primer", setting.words.primer, lambda width: memory.pieces(
        f"ways {_form(setting)}", ways, lambda: way_pieces(setting, ways, examples, width)))


def _worked(setting: Setting, works: Sequence[Worked], memory: Memory) -> list[Leaf]:
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
) -> list[Leaf]:
    """Pages of the layout's narrow columns, under a title on the first; `pieces_of` takes a width in pt."""
    plan = setting.layout.solutions
    block = setting.block(1)
    width = (block.width - plan.gap * MM * (plan.columns - 1)) / plan.columns
    drop = setting.layout.type.heading * 2
    pieces = pieces_of(width)
    columns = fill([piece.block for piece in pieces], block.height - drop)

    def draw(run: range, block: Box) -> Drawn:
        top = block.y + (drop if run.start == 0 else drop / 2)
        marks: tuple[Mark, ...] = ()
        if run.start == 0:
            marks = (_part_title(setting, block, title),)
        for place, number in enumerate(run):
            marks += draw_column(pieces, columns[number], block.x + place * (width + plan.gap * MM), top)
        return marks, (), ()

    return [Leaf((name,) if run.start == 0 else (), title, partial(draw, run))
            for run in chunks(len(columns), plan.columns)]


def _puzzles(setting: Setting, entries: Sequence[Entry], head: str) -> list[Leaf]:
    plan = setting.layout.puzzles

    def draw(run: range, block: Box) -> Drawn:
        places = slots(block.scaled(1 / MM), plan)
        filled = [pages.puzzle_slot(setting, place.scaled(MM), entries[number])
                  for place, number in zip(places, run, strict=False)]
        return _gathered(filled)

    return [
        Leaf(tuple(puzzle_anchor(entries[number].id) for number in run), head, partial(draw, run))
        for run in chunks(len(entries), plan.columns * plan.rows)
    ]


def _answers(setting: Setting, entries: Sequence[Entry], solved: Solved) -> list[Leaf]:
    """Answers under a heading on the first page; every page keeps that room, so the grids stay alike."""
    plan, top = setting.layout.answers, setting.layout.type.heading * 2.0

    def draw(run: range, block: Box) -> Drawn:
        marks: tuple[Mark, ...] = ()
        if run.start == 0:
            marks = (_part_title(setting, block, setting.words.answers),)
        area = Box(block.x, block.y + top, block.width, block.height - top)
        filled = [
            pages.answer_slot(setting, place.scaled(MM), entries[number], solved.answer(entries[number]))
            for place, number in zip(slots(area.scaled(1 / MM), plan), run, strict=False)
        ]
        drawn = _gathered(filled)
        return marks + drawn[0], drawn[1], drawn[2]

    return [
        Leaf(_answer_anchors(entries, run), setting.words.answers, partial(draw, run))
        for run in chunks(len(entries), plan.columns * plan.rows)
    ]


def _answer_anchors(entries: Sequence[Entry], run: range) -> tuple[str, ...]:
    first = ("answers",) if run.start == 0 else ()
    return first + tuple(answer_anchor(entries[number].id) for number in run)


def _part_title(setting: Setting, block: Box, title: str) -> Mark:
    size = setting.layout.type.heading
    said = setting.fonts.left(block.x, block.y + size * 0.86, title, setting.bold, size)
    return Group("title", (said,), Tag.HEADING)


def _gathered(filled: Sequence[pages.Matter]) -> Drawn:
    return (
        tuple(mark for item in filled for mark in item.marks),
        tuple(link for item in filled for link in item.links),
        tuple(anchor for item in filled for anchor in item.anchors),
    )


def _bookmarks(setting: Setting) -> list[Bookmark]:
    words, book = setting.words, setting.book
    front = ((words.contents, "contents"), (words.introduction, "introduction"), (words.how, "how"))
    marks = [Bookmark(title, anchor, 0) for title, anchor in front if anchor in setting.page_of]
    for index, section in enumerate(book.sections):
        marks.append(Bookmark(section.title, section_anchor(index), 0))
        marks.extend(
            Bookmark(f"{setting.number_of[entry.id]}  {entry.title}", puzzle_anchor(entry.id), 1)
            for entry in section.entries
        )
    back = ((words.hints, "hints"), (words.answers, "answers"), (words.primer, "primer"),
            (words.worked, "worked"))
    marks += [Bookmark(title, anchor, 0) for title, anchor in back if anchor in setting.page_of]
    return marks
