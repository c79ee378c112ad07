"""A page that came out wrong to the words that have no room on it, and where these stand in the manifest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cagework.layouts.page import Box
from cagework.typeset.book import Book, Entry, Section
from cagework.typeset.draw.setting import answer_anchor, puzzle_anchor, section_anchor
from cagework.typeset.faults import Fault
from cagework.typeset.marks import MM, Group, Mark, Text
from cagework.typeset.plan import Pages
from cagework.typeset.readback.grid_places import placed
from cagework.typeset.text.fonts import Fonts

_SLACK = 1.0
"""Points by which letters may stand out of the type area: side bearings and rounding."""

_LEAST_CELL = 3.0
"""A cell narrower than this, in mm, holds no digit that can be read (common practice)."""

_IN_MARGIN = frozenset({"folio", "running-head", "tab"})
"""Groups that stand outside the type area on purpose."""


@dataclass(frozen=True, slots=True)
class _Words:
    """A text of the book: what it is of, its key there, what it says."""

    part: Book | Section | Entry
    key: str
    text: str


def no_room(laid: Pages, number: int) -> Fault | None:
    """The text that most likely has no room on page `number`, as a fault; None where all of the page is in its
    place, so that the words are not to blame.
    """
    page, setting = laid.pages[number - 1], laid.setting
    anchors = [anchor.name for anchor in page.anchors]
    said = [one for one in _said(setting.book, anchors) if one.text]
    narrow = any(place.cell < _LEAST_CELL * MM for place in placed(number, page))
    if not said or not (narrow or _runs_over(page.marks, setting.block(number), setting.fonts)):
        return None
    longest = max(said, key=lambda one: max(len(one.text) / 80, max(map(len, one.text.split()), default=0) / 20))
    return Fault(longest.part.place_of(longest.key),
                 f"there is no room for this on page {number}: it would run out of its place",
                 "shorten it, or choose a layout with more room")


def _said(book: Book, anchors: Iterable[str]) -> Iterator[_Words]:
    """What the book says on a page with these anchors; of pages that go on from others, all titles."""
    sections = {section_anchor(index): section for index, section in enumerate(book.sections)}
    puzzles = {puzzle_anchor(entry.id): entry for entry in book.entries}
    answers = {answer_anchor(entry.id): entry for entry in book.entries}
    found = list(anchors)
    for name in found:
        if name == "title":
            for key, text in (("title", book.title), ("subtitle", book.subtitle), ("by", book.by)):
                yield _Words(book, key, text or "")
        elif name == "imprint":
            yield _Words(book, "imprint", " ".join(book.imprint))
        elif name == "introduction":
            yield _Words(book, "introduction", book.introduction or "")
        elif name in sections:
            yield _Words(sections[name], "title", sections[name].title)
            yield _Words(sections[name], "intro", sections[name].intro or "")
        elif name in puzzles:
            one = puzzles[name]
            for key, text in (("title", one.title), ("by", one.by), ("note", one.note)):
                yield _Words(one, key, text or "")
        elif name in answers:
            yield _Words(answers[name], "title", answers[name].title)
    if not found or not {"title", "imprint", "introduction", *sections, *puzzles, *answers}.intersection(found):
        yield from (_Words(entry, "title", entry.title) for entry in book.entries)
        yield from (_Words(section, "title", section.title) for section in book.sections)
        yield _Words(book, "introduction", book.introduction or "")


def _runs_over(marks: Iterable[Mark], block: Box, fonts: Fonts) -> bool:
    """Whether letters stand out of the type area."""
    for mark in marks:
        if isinstance(mark, Group) and mark.name not in _IN_MARGIN:
            if _runs_over(mark.marks, block, fonts):
                return True
        elif isinstance(mark, Text) and not _inside(mark, block, fonts):
            return True
    return False


def _inside(text: Text, block: Box, fonts: Fonts) -> bool:
    start, last = text.chunks[-1] if text.chunks else (0.0, "")
    right = text.x + start + fonts.measure(last, text.face, text.size, text.tracking)
    return (block.x - _SLACK <= text.x and right <= block.right + _SLACK
            and block.y - _SLACK <= text.y <= block.bottom + _SLACK)
