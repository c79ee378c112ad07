"""What one page says of others by their page numbers, before it is known where those stand."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import NamedTuple

from cagework.typeset.book import AnswersAt, Book, Grades
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.marks import Text
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.text_lines import GAP, TextLine, reads_as, squeezed
from cagework.typeset.words import Words

_HEADING = 80.0
"""Points within which a further line of a heading stands below the one before."""

_MOST_LINES = 12
"""The most lines that a title of the contents takes."""

_FIGURES = "0123456789"

_APART = 1.0
"""Points between letters of different words, at the least."""


class Told(StrEnum):
    """What of a puzzle a page number is said to be of."""

    PUZZLE = "its puzzle"
    ANSWER = "its answer"
    HINTS = "its hints"
    WORKED = "its worked solution"


class Said(NamedTuple):
    """On page `page`, with `of` (in words), the page `said` is named as that of the `told` of puzzle `id`; None
    where none is.
    """

    page: int
    of: str
    told: Told
    id: str
    said: int | None


class Head(NamedTuple):
    """A heading that is a puzzle's number and title, and the page it says the puzzle is on."""

    page: int
    id: str
    said: int


class ContentsRow(NamedTuple):
    """A line that is `title`, without its blanks, and then a number: a row of the contents, if it stands there."""

    page: int
    title: str
    said: str


class PageReferences:
    """Reads the page numbers off the lines of one page after another."""

    def __init__(self, book: Book, words: Words) -> None:
        self._entries = {entry.id: entry for entry in book.entries}
        self._numbers = numbers_of(book)
        self._numbered = {str(number): entry for number, entry in enumerate(book.entries, 1)}
        self._words = words
        shown = words.grades.values() if book.grades is Grades.WORDS else ()
        self._grades = tuple(dict.fromkeys(map(squeezed, shown)))
        self._to_page = re.compile(f"{GAP}?(?:(?:{'|'.join(map(re.escape, self._grades))}){GAP}?)?([0-9]+)")
        before = re.escape(squeezed(words.puzzle.split("{number}")[0]))
        self._head_starts = re.compile(f"(?:^|(?<={GAP}))((?:{before})?([0-9]+))")
        self._stems: dict[str, list[str]] = {}
        for title in sorted(set(map(squeezed, _titles(book, words)))):
            self._stems.setdefault(title.rstrip(_FIGURES), []).append(title)
        self._longest = max(map(len, self._stems), default=0)
        self._ends = {stem[-1:] for stem in self._stems}
        self._to_answer, self._to_puzzle = _pattern(words.answer_on), _pattern(words.puzzle_on)
        self._hints = book.pages.first_hints
        self._on_page = frozenset(entry.id for entry in book.answered(AnswersAt.PAGE))

    def round_grids(self, places: Iterable[GridPlace], lines: Sequence[TextLine]) -> Iterator[Difference | Said]:
        """Over and under the puzzles of a page, and over its answers."""
        for place in places:
            if place.shown.in_book and place.shown.id in self._entries:
                entry = self._entries[place.shown.id]
                if place.shown.kind is GridKind.PUZZLE:
                    yield from self._round_puzzle(place, entry, lines)
                elif place.shown.kind is GridKind.ANSWER and not place.shown.turned:
                    yield self._over_answer(place, entry, lines)

    def _round_puzzle(
        self, place: GridPlace, entry: Entry, lines: Sequence[TextLine],
    ) -> Iterator[Difference | Said]:
        of = f"puzzle '{entry.id}'"
        number, title = self._named(entry)
        first = f"{number} {title.split()[0]}" if title else number
        if not any(reads_as(line.text, start, first) is not None
                   for line in lines if line.base < place.y
                   for start in _starts(line, number[0]) if line.lefts[start] < place.x + place.width):
            lacking = f"its number and title, '{number} {title}', do" if title else f"its number, '{number}', does"
            yield Difference(place.page, of, None, f"{lacking} not stand over it")
        told, pattern = self._under(entry)
        if not told:
            return
        below = (line for line in lines if line.base > place.y + place.height)
        said = next((pages for line in below
                     for pages in _pages_said(line, pattern, place.x, place.x + place.width)), [None] * len(told))
        yield from (Said(place.page, of, what, entry.id, page) for what, page in zip(told, said, strict=True))

    def _under(self, entry: Entry) -> tuple[Sequence[Told], re.Pattern[str]]:
        """What the line under a puzzle names the pages of, in order, and how it reads."""
        worked, elsewhere = entry.solutions is not Solutions.NONE, entry.id not in self._on_page
        if elsewhere and not self._hints and not worked:
            return (Told.ANSWER,), self._to_answer
        due = ((Told.HINTS, "hints", self._hints), (Told.ANSWER, "answer", elsewhere),
               (Told.WORKED, "worked", worked))
        named = [(told, self._words.turn_to[key]) for told, key, stands in due if stands]
        return tuple(told for told, _ in named), _pattern(*(words for _, words in named))

    def _over_answer(self, place: GridPlace, entry: Entry, lines: Sequence[TextLine]) -> Difference | Said:
        of = f"answer of '{entry.id}'"
        number, name = self._named(entry)
        above = [line for line in lines if line.base <= place.y]
        names = [name, entry.short_title] if name and entry.short_title else [name]
        for at in range(len(above) - 1, -1, -1):
            line = above[at]
            for start in _starts(line, number[0]):
                for title in names:
                    said = self._headed(f"{number}{title}", above, at, start)
                    if (said and line.lefts[start] < place.x + place.width
                            and line.rights[said.end() - 1] > place.x):
                        return Said(place.page, of, Told.PUZZLE, entry.id, int(said[1]))
        return Difference(place.page, of, None,
                          f"'{f'{number} {name}'.strip()}' and the page of its puzzle do not stand over it")

    def rows(self, number: int, lines: Sequence[TextLine]) -> Iterator[ContentsRow]:
        """Lines of page `number` that name one of the titles, or end one that others begin, and a page."""
        texts = [line.text.replace(GAP, "") for line in lines]
        for at, line in enumerate(lines):
            if not texts[at][-1:].isdigit():
                continue
            stem, length = "", 0        # of all lines from `before` on: less the figures at their end, and whole
            for before in range(at, max(-1, at - _MOST_LINES), -1):
                stem = texts[before] + stem if stem else texts[before].rstrip(_FIGURES)
                length += len(texts[before])
                if not self._grades and (len(stem) > self._longest or (stem and stem[-1] not in self._ends)):
                    break
                for shown in (stem, *self._ungraded(stem)) if self._grades else (stem,):
                    for title in self._stems.get(shown, ()):
                        end = reads_as(line.text, 0, title[length - len(texts[at]):])
                        rest = None if end is None else self._to_page.fullmatch(line.text, end)
                        if rest:
                            yield ContentsRow(number, title, rest[1])

    def _ungraded(self, stem: str) -> Iterator[str]:
        """A row less the grade at its end, and less the figures before that."""
        return (stem.removesuffix(grade).rstrip(_FIGURES) for grade in self._grades if stem.endswith(grade))

    def heads(self, number: int, lines: Sequence[TextLine]) -> Iterator[Head]:
        """The headings of page `number` that name a puzzle by number and title, and its page."""
        for place, line in enumerate(lines):
            if not self._to_puzzle.search(line.text):
                continue
            for start in self._head_starts.finditer(line.text):
                for count in range(1, len(start[2]) + 1):
                    entry = self._numbered.get(start[2][:count])
                    said = entry and self._head(entry, lines, place, start.start(1))
                    if entry and said:
                        yield Head(number, entry.id, said)

    def _named(self, entry: Entry) -> tuple[str, str]:
        return self._words.headed(self._numbers[entry.id], entry.title)

    def _head(self, entry: Entry, lines: Sequence[TextLine], place: int, start: int) -> int | None:
        """The page a heading that starts in line `place` names, where it is a puzzle's."""
        said = self._headed("".join(self._named(entry)), lines, place, start)
        return int(said[1]) if said else None

    def _headed(self, title: str, lines: Sequence[TextLine], place: int, start: int) -> re.Match[str] | None:
        """What a heading that starts in line `place` says of a puzzle's page, where the heading is this title."""
        line, title = lines[place], squeezed(title)
        for said in self._to_puzzle.finditer(line.text, start):
            begun = line.text[start:said.start()].replace(GAP, "")
            if begun and title.startswith(begun) and _goes_on(lines[place + 1:], line.base, title[len(begun):]):
                return said
        return None


def numbers_of(book: Book) -> dict[str, int]:
    """The number of each puzzle by its id, from 1."""
    return {entry.id: number for number, entry in enumerate(book.entries, 1)}


def parts_of(words: Words) -> dict[str, str]:
    """What the contents call the parts of a book, by their anchors."""
    return {"introduction": words.introduction, "how": words.how, "hints": words.hints,
            "answers": words.answers, "primer": words.primer, "worked": words.worked,
            "index": words.index_title}


def _titles(book: Book, words: Words) -> Iterator[str]:
    """All that the contents may name."""
    yield from parts_of(words).values()
    yield from (page.title for page in book.text_pages if page.listed and page.title)
    yield from (section.title for section in book.sections)
    numbers = numbers_of(book)
    yield from (named_row(numbers, row, words) for section in book.sections for row in section.rows)


def named_row(numbers: Mapping[str, int], row: Sequence[Entry], words: Words) -> str:
    """What a list of puzzles calls one of them, or a run of untitled ones."""
    return words.row(numbers[row[0].id], numbers[row[-1].id], row[0].title)


def folios(number: int, texts: Iterable[tuple[Text, str]], lines: Iterable[TextLine]) -> Iterator[Difference]:
    """Where page `number` shows another number at its foot; `texts` are those it was laid out with."""
    for mark in (text for text, group in texts if group == "folio"):
        near = [line.between(mark.x - mark.size, mark.x + 4 * mark.size)
                for line in lines if abs(line.base - mark.y) < 0.5 * mark.size]
        there = [said for said in near if said]
        if there != [str(number)]:
            yield Difference(number, "folio", None, f"'{' '.join(there)}' stands where {number} should")


def _pattern(*templates: str) -> re.Pattern[str]:
    """Phrases with a page number in each, one after the other as a line holds them, after any gap."""
    said = []
    for template in templates:
        before, after = (re.escape(squeezed(part)) for part in template.split("{page}"))
        said.append(f"{GAP}?{before}([0-9]+){after}")
    return re.compile(f"{GAP}?·".join(said))


def _goes_on(lines: Iterable[TextLine], base: float, rest: str) -> bool:
    """Whether the rest of a heading, where it was too long for its line, stands in the lines right below."""
    for line in lines:
        if not rest or line.base - base > _HEADING:
            break
        for start in _starts(line, rest[0]):
            piece = line.text[start:].split(GAP)[0]     # what follows a gap may begin as the next line does
            if rest.startswith(piece) or reads_as(line.text, start, rest) is not None:
                rest, base = rest[len(piece):], line.base
                break
    return not rest


def _starts(line: TextLine, char: str) -> Iterator[int]:
    """Where a word of a line begins with a character: slots may stand beside each other less than a gap apart."""
    for found in re.finditer(re.escape(char), line.text):
        at = found.start()
        if at == 0 or line.text[at - 1] == GAP or line.lefts[at] - line.rights[at - 1] > _APART:
            yield at


def _pages_said(line: TextLine, pattern: re.Pattern[str], left: float, right: float) -> Iterator[list[int]]:
    """The page numbers of phrases that lie at least in part between two edges."""
    for said in pattern.finditer(line.text):
        if line.lefts[said.start(1)] < right and line.rights[said.end() - 1] > left:
            yield [int(page) for page in said.groups()]
