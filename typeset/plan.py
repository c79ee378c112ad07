"""A book and its answers to finished pages, in two passes.

The first counts lines and slots and fixes what stands on which page: a `Plan`, which never changes. The second
draws any of its pages, in any order, with the page numbers that the plan holds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import overload

from cagework.solver.model import Answer
from cagework.typeset.book import AnswersAt, Book, Position, Section, SectionStart, SparePages
from cagework.typeset.draw import furniture, matter, primer
from cagework.typeset.draw.grid_sizes import Allotted
from cagework.typeset.draw.ruled import ruled_page
from cagework.typeset.draw.second_ink import in_second_ink
from cagework.typeset.draw.setting import (
    PageNumbers,
    Setting,
    answer_anchor,
    puzzle_anchor,
    section_anchor,
    section_answers_anchor,
    text_anchor,
)
from cagework.typeset.draw.techniques import cheapest_first, techniques_used
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.marks import MM, Anchor, Bookmark, Page
from cagework.typeset.pages import (
    PlannedPage,
    allotted,
    answer_pages,
    blank_page,
    contents_pages,
    hint_pages,
    index_pages,
    introduction_pages,
    opener_pages,
    plain_page,
    puzzle_pages,
    running_pages,
    technique_pages,
    text_pages,
    worked_pages,
)
from cagework.typeset.solving.worked import Worked
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import Words

_SAMPLE = 16
"""From how many worked solutions the length of all is guessed, where there are several times as many."""


@dataclass(frozen=True, slots=True)
class DrawnOnDemand(Sequence[Page]):
    """So many pages, each drawn anew by its number, from 1, when it is asked for."""

    length: int
    draw: Callable[[int], Page]

    def __len__(self) -> int:
        return self.length

    @overload
    def __getitem__(self, place: int) -> Page: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Page]: ...
    def __getitem__(self, place: int | slice) -> Page | Sequence[Page]:
        numbers = range(1, self.length + 1)[place]
        return self.draw(numbers) if isinstance(numbers, int) else [self.draw(number) for number in numbers]


@dataclass(frozen=True, slots=True)
class Pages:
    """The finished book: pages in order, the outline, the setting they are drawn in, its layout as the number of
    pages made it, on which page what begins, and each puzzle's place in its slots, by id. A page is drawn anew
    each time it is asked for, and not kept: a book may have thousands.
    """

    pages: Sequence[Page]
    bookmarks: tuple[Bookmark, ...]
    setting: Setting
    numbers: PageNumbers
    places: Mapping[str, Allotted]


@dataclass(frozen=True, slots=True)
class Solved:
    """What was found of a book's puzzles, by id: the answers, and the worked paths.

    A draft may lack some, and leaves their places empty; a book for print may not. Of the `pathless` ones a draft
    has the heading alone where their paths would stand.
    """

    answers: Mapping[str, Answer]
    works: Mapping[str, Worked]
    draft: bool = False
    pathless: frozenset[str] = frozenset()

    def answer(self, entry: Entry) -> Answer | None:
        """A puzzle's answer. KeyError where there is none and this is no draft."""
        return self.answers.get(entry.id) if self.draft else self.answers[entry.id]

    def told(self, entries: Iterable[Entry]) -> list[Worked | Entry]:
        """The paths of some puzzles, and of the `pathless` the puzzles. KeyError where one is missing and this is
        no draft.
        """
        return [entry if entry.id in self.pathless else self.works[entry.id] for entry in entries
                if not self.draft or entry.id in self.works or entry.id in self.pathless]


@dataclass(frozen=True, slots=True)
class Plan:
    """Every page's place and matter, nothing drawn yet, and each puzzle's place in its slots, by id. Pages count
    from 1.
    """

    setting: Setting
    leaves: tuple[PlannedPage, ...]
    pages: PageNumbers
    places: Mapping[str, Allotted]

    def page(self, number: int) -> Page:
        """One page, drawn."""
        return _page(self, number)

    def bookmarks(self) -> tuple[Bookmark, ...]:
        """The outline."""
        return tuple(_bookmarks(self))


def lay_out(book: Book, solved: Solved, fonts: Fonts, words: Words) -> Pages:
    """All pages of a book."""
    plan = plan_book(book, solved, fonts, words, LayoutCache())
    return Pages(DrawnOnDemand(len(plan.leaves), plan.page), plan.bookmarks(), plan.setting, plan.pages,
                 plan.places)


def plan_book(book: Book, solved: Solved, fonts: Fonts, words: Words, memory: LayoutCache) -> Plan:
    """Decide what stands on which page. What `memory` holds of an earlier plan is used again.

    More pages may need a wider inside margin, and that more pages: from the margin that a guess at their number
    asks for, it grows until both fit; after the first try it never shrinks, so that ends.
    """
    memory.begin(book.layout, book.language, fonts)
    base = Setting.of(book, fonts, words)
    setting = _fitted(base, _guess(base, solved, memory))
    places = allotted(setting)
    leaves = _leaves(setting, places, solved, memory)
    needed = _fitted(base, len(leaves))         # where the guess was too high, less than it
    while needed.layout != setting.layout:
        setting, places = needed, allotted(needed)
        leaves = _leaves(setting, places, solved, memory)
        needed = _fitted(setting, len(leaves))
    pages = {anchor: number for number, leaf in enumerate(leaves, 1) for anchor in leaf.anchors}
    return Plan(setting, tuple(leaves), PageNumbers(MappingProxyType(pages)), places)


def _fitted(setting: Setting, count: int) -> Setting:
    """The setting with the margins of a book of `count` pages."""
    return replace(setting, book=replace(setting.book, layout=setting.book.layout.for_pages(count)))


def _guess(setting: Setting, solved: Solved, memory: LayoutCache) -> int:
    """About how many pages the book will have, a few worked solutions standing for the many."""
    ids = tuple(solved.works)
    few = ids[::len(ids) // _SAMPLE + 1] if len(ids) > 3 * _SAMPLE else ids
    if few == ids:
        return 0
    thin = Solved(solved.answers, {name: solved.works[name] for name in few}, draft=True)
    leaves = _leaves(setting, allotted(setting), thin, memory)
    told = sum(leaf.head in (setting.words.hints, setting.words.worked) for leaf in leaves)
    return round(len(leaves) + told * (len(ids) / len(few) - 1))


def _page(plan: Plan, number: int) -> Page:
    setting, leaf = plan.setting, plan.leaves[number - 1]
    drawn = leaf.draw(plan.pages, setting.block(number))
    marks = drawn.marks
    held = {anchor.name for anchor in drawn.anchors}
    anchors = (*(Anchor(name, 0.0) for name in leaf.anchors if name not in held), *drawn.anchors)
    if leaf.tab is not None:
        marks = (*furniture.tab(setting, number, leaf.tab, _tab_count(setting.book)), *marks)
    if leaf.head is not None:
        marks += (furniture.folio(setting, number),)
        if setting.book.pages.running_heads:
            marks += (furniture.running_head(setting, number, setting.book.head, leaf.head),)
    trim = setting.layout.trim
    return Page(trim.width * MM, trim.height * MM, in_second_ink(setting, marks), drawn.links, anchors)


def _leaves(
    setting: Setting, places: Mapping[str, Allotted], solved: Solved, memory: LayoutCache,
) -> list[PlannedPage]:
    """The whole book in order, brought to the number of pages its binding needs."""
    book = setting.book
    leaves = _front(setting)
    for index, section in enumerate(book.sections):
        leaves += _own(setting, Position.BEFORE, index)
        _to_start(leaves, book)
        leaves += _tabbed(_section(setting, index, section, places, solved), book, index)
        if (section.answers or book.answers) is AnswersAt.SECTION:
            answers = answer_pages(setting, section.entries, solved.answer, section_answers_anchor(index))
            leaves += _between(setting, leaves, answers, right=False)
            leaves += _tabbed(answers, book, index)
        leaves += _own(setting, Position.AFTER, index)
    _to_start(leaves, book)
    if book.pages.first_hints:
        leaves += hint_pages(setting, solved.told(book.entries), memory)
        _to_start(leaves, book)
    if answered := tuple(book.answered(AnswersAt.BACK)):
        answers = _tabbed(answer_pages(setting, answered, solved.answer), book, len(book.sections))
        leaves += _between(setting, leaves, answers, right=book.pages.sections_start is SectionStart.RIGHT)
        leaves += answers
    told = solved.told(entry for entry in book.entries if entry.solutions is not Solutions.NONE)
    if told or book.pages.first_hints:
        _to_start(leaves, book)
        leaves += technique_pages(setting, _ways_told(solved, book.pages.first_hints, memory), memory)
    if told:
        _to_start(leaves, book)
        leaves += _tabbed(worked_pages(setting, told, memory), book, _tab_count(book) - 1)
    if book.index:
        _to_start(leaves, book)
        leaves += index_pages(setting, memory)
    leaves += _own(setting, Position.BACK)
    return leaves + [_spare(setting)] * (-len(leaves) % book.press.multiple)


def _front(setting: Setting) -> list[PlannedPage]:
    book, words = setting.book, setting.words
    leaves = [
        plain_page(("title",), None, lambda block: matter.title_page(setting, block)),
        plain_page(("imprint",), None, lambda block: matter.imprint_page(setting, block)),
    ]
    own = tuple(book.own(Position.FRONT))
    leaves += [leaf for number, page in own if not page.listed for leaf in text_pages(setting, number, page)]
    if book.pages.contents:
        leaves += contents_pages(setting)
    leaves += [leaf for number, page in own if page.listed for leaf in text_pages(setting, number, page)]
    if book.introduction:
        leaves += introduction_pages(setting, book.introduction)
    if book.pages.how_to_solve:
        leaves += running_pages(setting, "how", primer.primer_pieces(setting), words.how)
    return leaves


def _ways_told(solved: Solved, hints: bool, memory: LayoutCache) -> tuple[str, ...]:
    """The ways of reasoning that a book prints, cheapest first."""
    return cheapest_first({way for one in solved.works.values() for way in memory.kept(
        f"ways in {one.entry.id}", (one.path, one.entry.solutions, hints), partial(techniques_used, one, hints))})


def _own(setting: Setting, position: Position, section: int | None = None) -> list[PlannedPage]:
    """The publisher's own pages that stand in some place."""
    return [leaf for number, page in setting.book.own(position, section)
            for leaf in text_pages(setting, number, page)]


def _section(
    setting: Setting, index: int, section: Section, places: Mapping[str, Allotted], solved: Solved,
) -> list[PlannedPage]:
    pages_of = puzzle_pages(setting.within(section), section.entries, places, section.head, solved.answer)
    if _is_whole_book(setting.book):
        first, *rest = pages_of
        return [replace(first, anchors=(*first.anchors, section_anchor(index))), *rest]
    return [*opener_pages(setting, index, section), *pages_of]


def _tabbed(leaves: Sequence[PlannedPage], book: Book, place: int) -> list[PlannedPage]:
    """The leaves with a tab, where the book has more than one section to tell apart."""
    return [replace(leaf, tab=place if _tab_count(book) else None) for leaf in leaves]


def _tab_count(book: Book) -> int:
    """How many places for tabs there are: a section each, the answers, the worked solutions."""
    if len(book.sections) < 2:
        return 0
    at_back = any(book.answered(AnswersAt.BACK))
    return len(book.sections) + at_back + any(entry.solutions is not Solutions.NONE for entry in book.entries)


def _between(
    setting: Setting, leaves: Sequence[PlannedPage], answers: Sequence[PlannedPage], *, right: bool,
) -> list[PlannedPage]:
    """The pages to put before the answers so that none of them faces its puzzle, or stands on its back; they may
    have to begin on the `right`. A left-hand page, of an even number, faces the one after it.
    """
    last, first = leaves[-1].anchors, answers[0].anchors
    if not any(puzzle_anchor(entry.id) in last and answer_anchor(entry.id) in first
               for entry in setting.book.entries):
        return []
    return [_spare(setting)] * (2 if right else 1)


def _spare(setting: Setting) -> PlannedPage:
    """A page that only the number of pages asks for."""
    if setting.book.press.fill is SparePages.NOTES:
        return plain_page((), setting.words.notes, lambda block: ruled_page(setting, block))
    return blank_page()


def _is_whole_book(book: Book) -> bool:
    """Whether the only section is the book itself, which then needs no page to open it."""
    return (len(book.sections) == 1 and book.sections[0].title == book.title
            and not (book.sections[0].intro or book.sections[0].picture))


def _to_start(leaves: list[PlannedPage], book: Book) -> None:
    """Let the next page be one a section may begin on, by a blank page where need be."""
    if len(leaves) % 2 and book.pages.sections_start is SectionStart.RIGHT:
        leaves.append(blank_page())


def _bookmarks(plan: Plan) -> Iterator[Bookmark]:
    words, book = plan.setting.words, plan.setting.book

    def own(position: Position, section: int | None = None) -> Iterator[Bookmark]:
        return (Bookmark(page.title or "", text_anchor(number), 0) for number, page in book.own(position, section)
                if page.listed)

    contents, *front = ((words.contents, "contents"), (words.introduction, "introduction"), (words.how, "how"))
    if book.pages.contents:
        yield Bookmark(*contents, 0)
    yield from own(Position.FRONT)
    yield from (Bookmark(title, anchor, 0) for title, anchor in front if anchor in plan.pages.of)
    for index, section in enumerate(book.sections):
        yield from own(Position.BEFORE, index)
        yield Bookmark(section.title, section_anchor(index), 0)
        for entry in section.entries:
            said = "  ".join(filter(None, plan.setting.headed(entry)))
            yield Bookmark(said, puzzle_anchor(entry.id), 1)
        if (answers := section_answers_anchor(index)) in plan.pages.of:
            yield Bookmark(words.answers, answers, 1)
        yield from own(Position.AFTER, index)
    back = ((words.hints, "hints"), (words.answers, "answers"), (words.primer, "primer"),
            (words.worked, "worked"), (words.index_title, "index"))
    yield from (Bookmark(title, anchor, 0) for title, anchor in back if anchor in plan.pages.of)
    yield from own(Position.BACK)
