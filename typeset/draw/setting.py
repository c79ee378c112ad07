"""What laying out needs: a book, its layout, faces and fixed phrases; and, to draw, page numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from cagework.layouts.load import Layout
from cagework.layouts.page import Box, text_block
from cagework.typeset.book import Book, Section
from cagework.typeset.entry import Entry
from cagework.typeset.marks import MM
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.paragraph import SetLine, Style, italic_of, paragraphs, prose_style, set_paragraph
from cagework.typeset.words import Words
from cagework.typeset.words.sentences import Sentences

_LONGEST = 36.0
"""The longest line of running text, in ems: some 75 to 80 characters (common practice: 45 to 80)."""

_TURNED = 1.0
"""How far a name that turns over is indented, in ems (common practice)."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What counting pages needs, and drawing them too. `number_of` maps a puzzle's id to its number, from 1."""

    book: Book
    fonts: Fonts
    words: Words
    sentences: Sentences
    number_of: Mapping[str, int]

    @classmethod
    def of(cls, book: Book, fonts: Fonts, words: Words) -> Setting:
        """The setting of a book, its puzzles numbered as they stand; the grades go by the book's own words, if it
        has any.
        """
        if book.grade_words:
            words = words._replace(grades=book.grade_words)
        numbers = {entry.id: number for number, entry in enumerate(book.entries, 1)}
        return cls(book, fonts, words, Sentences(book.language, in_print=True), MappingProxyType(numbers))

    @property
    def layout(self) -> Layout:
        """The book's layout."""
        return self.book.layout

    def within(self, section: Section) -> Setting:
        """The setting of a section's puzzles on their own pages."""
        book = self.book
        if not (section.layout or section.answers or section.foot):
            return self
        return replace(self, book=replace(book, layout=book.layout_in(section), foot=section.foot or book.foot,
                                          answers=section.answers or book.answers))

    def headed(self, entry: Entry) -> tuple[str, str]:
        """What stands over a puzzle: its number and its title; without a title, `Puzzle 12` and nothing more."""
        return self.words.headed(self.number_of[entry.id], entry.title)

    def row(self, entries: Sequence[Entry]) -> str:
        """What a list of puzzles calls one of them, or a run of untitled ones."""
        return self.words.row(self.number_of[entries[0].id], self.number_of[entries[-1].id], entries[0].title)

    @property
    def roman(self) -> str:
        """The face of running text."""
        return self.layout.prose.family

    @property
    def italic(self) -> str:
        """The face of by-lines and notes; upright where the layout wants no italics."""
        return italic_of(self.layout)

    @property
    def bold(self) -> str:
        """The face of headings."""
        return f"{self.roman}-semibold"

    def block(self, number: int) -> Box:
        """The text block of page `number`, in pt."""
        return text_block(self.layout, number).scaled(MM)

    @property
    def measure(self) -> float:
        """The width of running text in pt: the text block's, but no more than reads well."""
        return min(self.block(1).width, _LONGEST * self.layout.type.body)

    @property
    def column(self) -> float:
        """The width of a column of worked solutions in pt."""
        plan = self.layout.solutions
        return (self.block(1).width - plan.gap * MM * (plan.columns - 1)) / plan.columns

    @property
    def told(self) -> Style:
        """How worked solutions are set."""
        return prose_style(self.layout, self.book.language, self.layout.solutions.size)

    @property
    def line(self) -> float:
        """From baseline to baseline in columns of worked solutions, in pt: all there takes whole lines."""
        return self.told.leading

    def prose(self, text: str, measure: float, size: float | None = None) -> tuple[SetLine, ...]:
        """All paragraphs of `text` as lines, later ones indented by an em of their size."""
        style = prose_style(self.layout, self.book.language, size)
        lines: list[SetLine] = []
        for number, paragraph in enumerate(paragraphs(text)):
            lines.extend(set_paragraph(paragraph, style, measure, self.fonts, style.size if number else 0.0))
        return tuple(lines)

    def display(
        self, text: str | Sequence[tuple[str, str]], face: str, size: float, measure: float,
    ) -> tuple[SetLine, ...]:
        """A heading, a text or runs of (text, face), as ragged, undivided lines."""
        return set_paragraph(text, Style(face, face, size, size * 1.12, False, None), measure, self.fonts)

    def balanced(self, text: str, face: str, size: float, width: float) -> tuple[SetLine, ...]:
        """Display lines as few as the width allows, and as even as these few can be with no compound divided."""
        best = self.display(text, face, size, width)
        narrow = width
        while narrow > width / 3:
            narrow -= size / 4
            tried = self.display(text, face, size, narrow)
            if len(tried) > len(best) or self.widest(tried) > narrow:
                break
            if not any(line.words[-1][1].endswith("-") for line in tried):
                best = tried
        return best

    def widest(self, lines: Iterable[SetLine]) -> float:
        """How far the longest of some display lines reaches, in pt."""
        return max((at + self.fonts[face].width(text.rstrip(), line.size)
                    for line in lines for at, text, face in line.words), default=0.0)

    def name(self, text: str, face: str, size: float, measure: float) -> tuple[SetLine, ...]:
        """A title or a credit as ragged, undivided lines; what has no room on the first turns over, indented."""
        return self.fonts.once(_named, text, face, size, measure)


def _named(fonts: Fonts, text: str, face: str, size: float, measure: float) -> tuple[SetLine, ...]:
    hang = _TURNED * size
    style = Style(face, None, size, size * 1.12, False, None)
    return tuple([replace(line, start=line.start + hang)
                  for line in set_paragraph(text, style, measure - hang, fonts, -hang)])


@dataclass(frozen=True, slots=True)
class PageNumbers:
    """On which page, from 1, each anchor stands: what counting the pages found, and drawing them needs."""

    of: Mapping[str, int]

    def puzzle(self, entry_id: str) -> int:
        """The page of a puzzle."""
        return self.of[puzzle_anchor(entry_id)]

    def answer(self, entry_id: str) -> int:
        """The page of a puzzle's answer."""
        return self.of[answer_anchor(entry_id)]


def puzzle_anchor(entry_id: str) -> str:
    """The name of the spot where a puzzle stands."""
    return f"puzzle-{entry_id}"


def answer_anchor(entry_id: str) -> str:
    """The name of the spot where a puzzle's answer stands."""
    return f"answer-{entry_id}"


def hints_anchor(entry_id: str) -> str:
    """The name of the spot where the first hints for a puzzle begin."""
    return f"hints-{entry_id}"


def worked_anchor(entry_id: str) -> str:
    """The name of the spot where a puzzle's worked solution begins."""
    return f"worked-{entry_id}"


def section_anchor(index: int) -> str:
    """The name of the spot where section `index` (from 0) opens."""
    return f"section-{index + 1}"


def section_answers_anchor(index: int) -> str:
    """The name of the spot where the answers at the end of section `index` (from 0) begin."""
    return f"answers-{index + 1}"


def text_anchor(number: int) -> str:
    """The name of the spot where text page `number` (from 0) of the publisher's own begins."""
    return f"text-{number + 1}"
