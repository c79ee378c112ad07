"""Every page number a page prints, held against where the thing it speaks of is found to stand."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from cagework.typeset.book import Book, Entry, Solutions
from cagework.typeset.draw.setting import Setting, section_anchor
from cagework.typeset.draw.shown import Kind
from cagework.typeset.marks import Page
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.lines import GAP, Line, begins_as, reads_as, squeezed
from cagework.typeset.readback.placed import Placed, words_of

_HEADING = 80.0
"""Points within which a heading's further lines stand below its first."""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """What is where: the page of each anchor, and of each puzzle's grid and answer by id; numbers of puzzles."""

    anchors: Mapping[str, int]
    puzzles: Mapping[str, int]
    answers: Mapping[str, int]
    numbers: Mapping[str, int]


def whereabouts(book: Book, pages: Sequence[Page], places: Iterable[Placed]) -> Whereabouts:
    """Where everything a reference can speak of stands, by the grids rather than by what the pages say."""
    grids: dict[Kind, dict[str, int]] = {kind: {} for kind in Kind}
    for place in places:
        if place.shown.in_book:
            grids[place.shown.kind].setdefault(place.shown.id, place.page)
    return Whereabouts(
        {anchor.name: number for number, page in enumerate(pages, 1) for anchor in page.anchors},
        grids[Kind.PUZZLE], grids[Kind.ANSWER],
        {entry.id: number for number, entry in enumerate(book.entries, 1)},
    )


class References:
    """The lines of a finished file and what they ought to say of one another."""

    def __init__(self, setting: Setting, where: Whereabouts, pages: Sequence[Page],
                 lines: Sequence[Sequence[Line]]) -> None:
        book, words = setting.book, setting.words
        self._entries = {entry.id: entry for entry in book.entries}
        self._book, self._words, self._where = book, words, where
        self._pages, self._lines = pages, lines
        self._to_answer, self._to_puzzle = _pattern(words.answer_on), _pattern(words.puzzle_on)

    def compare(self, places: Iterable[Placed]) -> Iterator[Difference]:
        """All that is amiss: round the grids, in the contents, over worked solutions, at the foot of the page."""
        for place in places:
            if place.shown.in_book and place.shown.id in self._entries:
                entry = self._entries[place.shown.id]
                if place.shown.kind is Kind.PUZZLE:
                    yield from self._round_puzzle(place, entry)
                elif place.shown.kind is Kind.ANSWER:
                    yield from self._over_answer(place, entry)
        if self._book.pages.contents:
            yield from self._contents()
        yield from self._heads()
        yield from self._folios()

    def _round_puzzle(self, place: Placed, entry: Entry) -> Iterator[Difference]:
        of = f"puzzle '{entry.id}'"
        lines = self._lines[place.page - 1]
        number = self._where.numbers[entry.id]
        first = entry.title.split()[0]
        if not any(reads_as(line.text, start, f"{number}{first}") is not None
                   for line in lines if line.base < place.y
                   for start in _starts(line, str(number)[0]) if line.lefts[start] < place.x + place.side):
            yield Difference(place.page, of, None, f"its number and title, '{number} {entry.title}', do not stand "
                                                   "over it")
        below = (line for line in lines if line.base > place.y + place.side)
        said = next((page for line in below
                     for page in _pages_said(line, self._to_answer, place.x, place.x + place.side)), None)
        yield from _turn(place.page, of, "its answer", said, self._where.answers.get(entry.id))

    def _over_answer(self, place: Placed, entry: Entry) -> Iterator[Difference]:
        of = f"answer of '{entry.id}'"
        number = self._where.numbers[entry.id]
        for line in reversed(self._lines[place.page - 1]):
            if line.base > place.y:
                continue
            for start in _starts(line, str(number)[0]):
                end = reads_as(line.text, start, f"{number}{entry.title}")
                said = self._to_puzzle.match(line.text, end) if end is not None else None
                if said and line.lefts[start] < place.x + place.side and line.rights[said.end() - 1] > place.x:
                    yield from _turn(place.page, of, "its puzzle", int(said[1]), self._where.puzzles.get(entry.id))
                    return
        yield Difference(place.page, of, None, f"'{number} {entry.title}' and the page of its puzzle do not stand "
                                               "over it")

    def _contents(self) -> Iterator[Difference]:
        """Each row of the contents: what it names, and the page where that is."""
        first = self._where.anchors.get("contents")
        if first is None:
            return
        last = first
        while last < len(self._pages) and not self._pages[last].anchors:
            last += 1
        rows = [(number, line) for number in range(first, last + 1) for line in self._lines[number - 1]]
        for title, page in self._rows():
            ends = [(number, line.text[end:].strip(GAP)) for number, line in rows
                    if (end := reads_as(line.text, 0, title)) is not None]
            said = [(number, rest) for number, rest in ends if rest.isdigit()]
            if not said:
                yield Difference(first, "contents", None, f"'{title}' is not among them, with its page")
            elif said[0][1] != str(page):
                yield Difference(said[0][0], "contents", None,
                                 f"'{title}' is sent to page {said[0][1]}; it is on page {page}")

    def _rows(self) -> Iterator[tuple[str, int]]:
        words, where = self._words, self._where
        named = {"introduction": words.introduction, "how": words.how, "hints": words.hints,
                 "answers": words.answers, "primer": words.primer, "worked": words.worked}
        yield from ((title, where.anchors[anchor]) for anchor, title in named.items() if anchor in where.anchors)
        for index, section in enumerate(self._book.sections):
            if section_anchor(index) in where.anchors:
                yield section.title, where.anchors[section_anchor(index)]
            for entry in section.entries:
                if entry.id in where.puzzles:
                    yield f"{where.numbers[entry.id]} {entry.title}", where.puzzles[entry.id]

    def _heads(self) -> Iterator[Difference]:
        """Over hints and worked solutions: number and title of a puzzle, and its page."""
        for part, entries in (("hints", tuple(self._book.entries)), ("worked", self._told())):
            first = self._where.anchors.get(part)
            if first is None:
                continue
            last = first
            while last < len(self._pages) and not self._pages[last].anchors:
                last += 1
            for entry in entries:
                yield from self._head(part, entry, range(first, last + 1))

    def _told(self) -> tuple[Entry, ...]:
        return tuple(entry for entry in self._book.entries if entry.solutions is not Solutions.NONE)

    def _head(self, part: str, entry: Entry, pages: range) -> Iterator[Difference]:
        of = f"worked solution of '{entry.id}'" if part == "worked" else f"hints for '{entry.id}'"
        title = squeezed(f"{self._where.numbers[entry.id]}{entry.title}")
        for number in pages:
            lines = self._lines[number - 1]
            for place, line in enumerate(lines):
                for start in _starts(line, title[0]):
                    taken, end = begins_as(line.text, start, title)
                    said = self._to_puzzle.match(line.text, end)
                    if said and _goes_on(lines[place + 1:], line.base, title[taken:]):
                        yield from _turn(number, of, "its puzzle", int(said[1]), self._where.puzzles.get(entry.id))
                        return
        yield Difference(pages[0], of, None, "its heading, with the page of the puzzle, is nowhere to be found")

    def _folios(self) -> Iterator[Difference]:
        for number, (page, lines) in enumerate(zip(self._pages, self._lines, strict=True), 1):
            for mark in (text for text, group in words_of(page.marks) if group == "folio"):
                near = [line.between(mark.x - mark.size, mark.x + 4 * mark.size)
                        for line in lines if abs(line.base - mark.y) < 0.5 * mark.size]
                there = [said for said in near if said]
                if there != [str(number)]:
                    yield Difference(number, "folio", None, f"'{' '.join(there)}' stands where {number} should")


def _pattern(template: str) -> re.Pattern[str]:
    """A phrase with a page number in it as a line holds it, after any gap."""
    before, after = (re.escape(squeezed(part)) for part in template.split("{page}"))
    return re.compile(f"{GAP}?{before}([0-9]+){after}")


def _goes_on(lines: Iterable[Line], base: float, rest: str) -> bool:
    """Whether the rest of a heading, where it was too long for its line, stands in the lines right below."""
    for line in lines:
        if not rest or line.base - base > _HEADING:
            break
        for start in _starts(line, rest[0]):
            taken, _ = begins_as(line.text, start, rest)
            if taken == len(rest) or line.text[start:].split(GAP)[0] == rest[:taken]:
                rest = rest[taken:]
                break
    return not rest


def _starts(line: Line, char: str) -> Iterator[int]:
    """Where a line's text begins, or begins again after a gap, with a character."""
    return (start.start(1) for start in re.finditer(f"(?:^|{GAP})({re.escape(char)})", line.text))


def _pages_said(line: Line, pattern: re.Pattern[str], left: float, right: float) -> Iterator[int]:
    """The page numbers of phrases that lie at least in part between two edges."""
    for said in pattern.finditer(line.text):
        if line.lefts[said.start(1)] < right and line.rights[said.end() - 1] > left:
            yield int(said[1])


def _turn(page: int, of: str, what: str, said: int | None, where: int | None) -> Iterator[Difference]:
    if said is None:
        yield Difference(page, of, None, f"the page of {what} is not printed with it")
    elif said != where:
        yield Difference(page, of, None, f"page {said} is named as that of {what}; it is on page {where}")
