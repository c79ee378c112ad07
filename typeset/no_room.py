"""What a page has no room for, and where it stands in the manifest: words, the notes of a diagram, a picture; and
pictures that are too coarse for the room they have.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor

from cagework.layouts.load import Layout, shelf_layout, shelf_names
from cagework.typeset.book import AnswersAt, Book, Cover, Illustration, Section, TextPage
from cagework.typeset.choices import Stock
from cagework.typeset.draw.furniture import head_is_cut
from cagework.typeset.draw.grid_sizes import Allotted
from cagework.typeset.draw.look import LEAST_NOTE
from cagework.typeset.draw.outside import Outside, slug_is_cut
from cagework.typeset.draw.setting import (
    PageNumbers,
    Setting,
    answer_anchor,
    puzzle_anchor,
    section_anchor,
    text_anchor,
)
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.draw.worked import place_of
from cagework.typeset.entry import Entry, Place, Solutions
from cagework.typeset.faults import Fault, Severity, listed
from cagework.typeset.marks import MM, Page, Picture, groups
from cagework.typeset.pages import prints
from cagework.typeset.plan import Pages
from cagework.typeset.preflight.profile import stock_limits
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.worked import Worked
from cagework.typeset.text.fonts import Fonts


@dataclass(frozen=True, slots=True)
class _Words:
    """A text of the book: what it is of, its key there, what it says."""

    part: Book | Section | Entry | TextPage
    key: str
    text: str


def no_room(laid: Pages, number: int) -> Fault:
    """The text that most likely has no room on page `number`, which is crowded, as a fault."""
    book = laid.setting.book
    said = [one for one in _said(book, [anchor.name for anchor in laid.pages[number - 1].anchors]) if one.text]
    longest = max(said, key=_length, default=None)
    if longest is None or _length(longest) < 1:
        return Fault(book.place_of("layout"), f"page {number} has no room for what stands on it",
                     "choose a layout with more room, or change the layout's own file")
    return Fault(longest.part.place_of(longest.key),
                 f"there is no room for this on page {number}: it would run out of its place",
                 "shorten it, or choose a layout with more room")


def too_narrow(setting: Setting, works: Mapping[str, Worked]) -> Iterator[Fault]:
    """The puzzles in whose worked solutions the pictures' notes have no room on a page, each as a fault."""
    book = setting.book
    for entry in book.entries:
        if (entry.solutions is not Solutions.NONE and not place_of(setting, entry.puzzle, setting.column).notes
                and Story(works[entry.id].path).pictures):
            yield Fault(book.place_of("layout"),
                        f"its page is too narrow for pictures of '{entry.id}' with notes of {LEAST_NOTE:g} pt",
                        "choose a layout with a wider page, or print the puzzle with 'solutions: none'")


def too_large(setting: Setting) -> Iterator[Fault]:
    """The puzzles whose grids no page of the layout holds, each as a fault that says which layouts do."""
    for section in setting.book.sections:
        for entry in section.entries:
            if not prints(setting.within(section), entry):
                yield _too_large(setting, section, entry)


def _too_large(setting: Setting, section: Section, entry: Entry) -> Fault:
    """A puzzle's grid as a fault, with the way out: its answer elsewhere, or another layout."""
    if prints(setting.within(replace(section, answers=AnswersAt.BACK)), entry):
        return Fault(entry.place, f"a page of this layout has no room for the grid of '{entry.id}' and its answer",
                     "print the answers of its section elsewhere, with answers: back or answers: section")
    held = [name for name in shelf_names() if _is_held(setting, section, name, entry)]
    return Fault(entry.place, f"a page of this layout is too small for the grid of '{entry.id}': in "
                 f"{entry.puzzle.rows} by {entry.puzzle.columns} cells its sums or digits have no room",
                 f"choose a layout that holds it: {listed(held)}" if held else
                 "print it in a layout of your own with a larger page")


def _is_held(setting: Setting, section: Section, layout: str, entry: Entry) -> bool:
    """Whether a puzzle prints in a layout of the shelf: its section's, where that has one of its own."""
    tried = shelf_layout(layout)
    if section.layout:
        return (tried.trim == setting.layout.trim
                and prints(setting.within(replace(section, layout=tried)), entry))
    return prints(_laid_in(setting, tried).within(section), entry)


def _laid_in(setting: Setting, layout: Layout) -> Setting:
    """The same book in another layout."""
    book = replace(setting.book, layout=layout)
    return replace(setting, book=book, fonts=Fonts(layout))


def yielding(
    setting: Setting, places: Mapping[str, Allotted], pages: int, slug: Outside | None,
) -> Iterator[Fault]:
    """Titles that running heads cut short, or the slug line where there is one, and grids whose places words make
    larger or smaller than the others of their size, each as a warning.
    """
    book = setting.book
    heads: list[Book | Section] = [book, *book.sections] if book.pages.running_heads else []
    cut: dict[Place, Fault] = {}
    for part in heads:
        if head_is_cut(setting, part.head):
            cut.setdefault(_place_of_head(part), _cut(part, "running heads have"))
    if slug and book.press.slug and slug_is_cut(setting, pages, slug):
        cut.setdefault(_place_of_head(book), _cut(book, "the slug line has"))
    yield from cut.values()
    yield from _of_another_size(setting.book, places)


def _of_another_size(book: Book, places: Mapping[str, Allotted]) -> Iterator[Fault]:
    """The puzzles whose grids are larger or smaller than the others of their size, each as a warning."""
    for entry in book.entries:
        place, across = places[entry.id], squares_of(entry.puzzle).across / MM
        if place.usual:
            wide, usual = place.placing.cell * across, place.usual * across
            yield Fault(
                entry.place_of("note"), f"the words of '{entry.id}' leave its grid other room than the rest have: "
                f"it is {wide:.0f} mm wide, others of its size {usual:.0f} mm",
                "shorten its note, credit or title, for all grids of a size to be alike", Severity.WARNING)


def unfit_pictures(setting: Setting, pages: Sequence[Page], numbers: PageNumbers, press: bool) -> Iterator[Fault]:
    """Pictures that have no room where they should stand, each as a fault, or less than they ask for, as a
    warning; and those of fewer pixels than the stock shows. A press would refuse these (preflight rule 31); on a
    screen they are warned of, down to half as many.
    """
    stock = setting.book.press.stock
    for picture, anchor in _pictures(setting.book):
        mark = _hung(picture, numbers.of[anchor], pages)
        if mark is None:
            yield Fault(picture.place, "there is no room for this picture on its page",
                        "shorten what else stands there, or leave the picture out")
            continue
        yield from _unfit(picture, mark, stock, press)


def unfit_on_cover(cover: Cover, page: Page) -> Iterator[Fault]:
    """The same of the picture on a cover, which is for a press."""
    mark = cover.picture and _hung(cover.picture, 1, (page,))
    if cover.picture and mark:
        yield from _unfit(cover.picture, mark, cover.stock, press=True)


def _unfit(picture: Illustration, mark: Picture, stock: Stock, press: bool) -> Iterator[Fault]:
    """A picture that is printed less wide than it is asked for, or with fewer pixels than its stock shows."""
    if picture.width and mark.width < picture.width * MM - _SLACK:
        yield Fault(picture.place, f"this picture has room to be {mark.width / MM:.0f} mm wide, not "
                    f"{picture.width:g} mm", "give it less width", Severity.WARNING)
    limits = stock_limits()[stock]
    least = limits.line_art if picture.raster.bits == 1 else limits.image
    ppi = mark.raster.width / mark.width * 72
    if ppi < least - _SLACK:
        yield Fault(picture.place, f"this picture is printed {mark.width / MM:.0f} mm wide, with {ppi:.0f} "
                    f"pixels an inch; {stock} paper shows {least:g}",
                    f"make it {ceil(picture.raster.width * least / ppi):,} pixels wide, or print it with "
                    f"width: {floor(picture.raster.width / least * 25.4)}",
                    Severity.ERROR if press or ppi < least / 2 else Severity.WARNING)


_SLACK = 0.5
"""Points by which a picture may be less wide than it is asked for, and pixels an inch that it may lack."""


def _pictures(book: Book) -> Iterator[tuple[Illustration, str]]:
    """The publisher's pictures, and where they belong."""
    placed = [(book.picture, "title"), (book.mark, "imprint")]
    placed += [(section.picture, section_anchor(index)) for index, section in enumerate(book.sections)]
    placed += [(page.picture, text_anchor(number)) for number, page in enumerate(book.text_pages)]
    return ((picture, anchor) for picture, anchor in placed if picture)


def _hung(picture: Illustration, number: int, pages: Sequence[Page]) -> Picture | None:
    """A picture as it stands on page `number` or on one that this goes on to; None where it does not."""
    for at in range(number - 1, len(pages)):
        page = pages[at]
        if at >= number and page.anchors:
            break
        for mark in groups(page.marks):
            if mark.shows is picture:
                return next((one for one in mark.marks if isinstance(one, Picture)), None)
    return None


def _place_of_head(part: Book | Section) -> Place:
    return part.place_of("short_title" if part.short_title else "title")


def _cut(part: Book | Section, where: str) -> Fault:
    hint = "give a shorter short_title" if part.short_title else "give it a short_title as well"
    return Fault(_place_of_head(part), f"{where} no room for all of this", hint, Severity.WARNING)


def _length(one: _Words) -> float:
    """How long a text is, or a word in it; less than 1 where it should find room anywhere."""
    return max(len(one.text) / 80, max(map(len, one.text.split()), default=0) / 20)


def _said(book: Book, anchors: Iterable[str]) -> Iterator[_Words]:
    """What the book says on a page with these anchors; of pages that go on from others, all titles."""
    sections = {section_anchor(index): section for index, section in enumerate(book.sections)}
    puzzles = {puzzle_anchor(entry.id): entry for entry in book.entries}
    answers = {answer_anchor(entry.id): entry for entry in book.entries}
    own = {text_anchor(number): page for number, page in enumerate(book.text_pages)}
    found = list(anchors)
    for name in found:
        if name == "title":
            for key, text in (("title", book.title), ("subtitle", book.subtitle), ("by", book.by)):
                yield _Words(book, key, text or "")
        elif name == "imprint":
            yield _Words(book, "imprint", " ".join(book.imprint))
        elif name == "introduction":
            yield _Words(book, "introduction", book.introduction or "")
        elif name in own:
            yield from (_Words(own[name], key, text) for key, text in own[name].texts)
        elif name in sections:
            yield _Words(sections[name], "title", sections[name].title)
            yield _Words(sections[name], "intro", sections[name].intro or "")
        elif name in puzzles:
            one = puzzles[name]
            for key, text in (("title", one.title), ("by", one.by), ("note", one.note)):
                yield _Words(one, key, text or "")
        elif name in answers:
            yield _Words(answers[name], "title", answers[name].title or "")
    known = {"title", "imprint", "introduction", *sections, *puzzles, *answers, *own}
    if not known.intersection(found):
        yield from (_Words(entry, "title", entry.title or "") for entry in book.entries)
        yield from (_Words(section, "title", section.title) for section in book.sections)
        yield from (_Words(page, key, text) for page in book.text_pages for key, text in page.texts)
        yield _Words(book, "introduction", book.introduction or "")
