"""What a page has no room for, and where it stands in the manifest: words, or the notes of a picture."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from cagework.typeset.book import Book, Entry, Section, Solutions
from cagework.typeset.draw.grid import LEAST_NOTE
from cagework.typeset.draw.setting import Setting, answer_anchor, puzzle_anchor, section_anchor
from cagework.typeset.draw.worked import place_of
from cagework.typeset.faults import Fault
from cagework.typeset.plan import Pages
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.worked import Worked


@dataclass(frozen=True, slots=True)
class _Words:
    """A text of the book: what it is of, its key there, what it says."""

    part: Book | Section | Entry
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


def _length(one: _Words) -> float:
    """How long a text is, or a word in it; less than 1 where it should find room anywhere."""
    return max(len(one.text) / 80, max(map(len, one.text.split()), default=0) / 20)


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
