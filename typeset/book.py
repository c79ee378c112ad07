"""What a manifest says once it has been read and found well-formed: the facts every page is made from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date as Date  # noqa: N812 - a field is called date
from enum import StrEnum
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from cagework.typeset.choices import Stock
from cagework.typeset.entry import Entry, Place, Written, place_in
from cagework.typeset.prose import ProseBlock
from cagework.typeset.raster import Raster
from cagework.typeset.spot import SpotInk

if TYPE_CHECKING:
    from cagework.layouts.load import Layout
    from cagework.solver.model import Puzzle
    from cagework.solver.reasoning.grade import Grade


@dataclass(frozen=True, slots=True)
class Illustration:
    """A picture of the publisher's own: what it shows in words, nothing where it is mere decoration; and how wide
    it is to be in mm, None for as wide as there is room. `place` is where the manifest names its `file`.
    """

    file: Path
    raster: Raster
    alt: str
    width: float | None
    place: Place


class Order(StrEnum):
    """How a section's puzzles stand."""

    LISTED = "listed"
    GRADE = "grade"      # easiest first


@dataclass(frozen=True, slots=True)
class Section:
    """A run of puzzles under a heading, with a `picture` on the page that opens it; `layout` is that of its
    puzzles' own pages, `answers` where their answers stand and `foot` what stands under them, where these are not
    the book's. `written` has, by key, where its texts stand.
    """

    title: str
    intro: str | None
    entries: tuple[Entry, ...]
    order: Order = Order.LISTED
    written: Mapping[str, Written] = field(default_factory=dict, compare=False, repr=False)
    short_title: str | None = None
    layout: Layout | None = None
    answers: AnswersAt | None = None
    foot: Foot | None = None
    picture: Illustration | None = None

    def __repr__(self) -> str:
        return f"Section({self.title!r}, {len(self.entries)} puzzles)"

    @property
    def head(self) -> str:
        """What running heads call it."""
        return self.short_title or self.title

    @property
    def rows(self) -> Iterator[tuple[Entry, ...]]:
        """The puzzles as the contents name them."""
        return rows_of(self.entries)

    def place_of(self, key: str, part: str = "") -> Place:
        """Where the text under a key stands, or a part of it."""
        return place_in(self.written, key, part)


def rows_of(entries: Iterable[Entry]) -> Iterator[tuple[Entry, ...]]:
    """Puzzles as a list of them names them: one with a title alone, a run of untitled ones together."""
    for untitled, group in groupby(entries, key=lambda entry: entry.title is None):
        run = tuple(group)
        yield from (run,) if untitled else ((entry,) for entry in run)


class AnswersAt(StrEnum):
    """Where the answer of a puzzle stands."""

    BACK = "back"        # of the book
    SECTION = "section"  # at its end
    PAGE = "page"        # the puzzle's own, upside down at its foot


class Foot(StrEnum):
    """What stands at the foot of a puzzle's place, where there is room."""

    NONE = "none"
    SUMS = "sums"        # that its cages have, and few sets of digits make
    SCRATCH = "scratch"  # lines to work on


class Grades(StrEnum):
    """How the book shows how hard a puzzle is."""

    MARKS = "marks"      # peaks, with the word beside them over the puzzle itself
    WORDS = "words"
    NONE = "none"


class IndexBy(StrEnum):
    """What an index at the back of the book goes by."""

    TITLE = "title"
    CONSTRUCTOR = "constructor"
    GRADE = "grade"


class Position(StrEnum):
    """Where a page of the publisher's own stands."""

    FRONT = "front"
    BACK = "back"
    BEFORE = "before"        # a section
    AFTER = "after"


@dataclass(frozen=True, slots=True)
class TextPage:
    """A page of the publisher's own, or several, where its text is long; blank where it has nothing. `section`
    counts from 0. `numbered` tells whether it carries head and folio, `listed` whether the contents name it;
    `written` has, by key, where its texts stand.
    """

    title: str | None
    blocks: tuple[ProseBlock, ...]
    position: Position
    section: int | None
    numbered: bool
    listed: bool
    written: Mapping[str, Written] = field(default_factory=dict, compare=False, repr=False)
    picture: Illustration | None = None

    def __repr__(self) -> str:
        return f"TextPage({self.title!r}, {len(self.blocks)} blocks, {self.position})"

    @property
    def texts(self) -> tuple[tuple[str, str], ...]:
        """Its title and its text, by key."""
        return ("title", self.title or ""), ("text", "\n".join(block.text for block in self.blocks))

    def place_of(self, key: str, part: str = "") -> Place:
        """Where the text under a key stands, or a part of it."""
        return place_in(self.written, key, part)


class SectionStart(StrEnum):
    """On which page a section, and the answers, may begin."""

    RIGHT = "right"
    NEXT = "next"


@dataclass(frozen=True, slots=True)
class PageSettings:
    """Which pages the book has, and how they begin."""

    contents: bool = True
    how_to_solve: bool = True
    running_heads: bool = True
    first_hints: bool = False
    sections_start: SectionStart = SectionStart.RIGHT


class Standard(StrEnum):
    """What a press file promises to be."""

    X1A = "x1a"      # PDF/X-1a:2003, ISO 15930-4
    X4 = "x4"        # PDF/X-4, ISO 15930-7

    @property
    def claim(self) -> str:
        """The standard in the words a file's own key says it."""
        return {Standard.X1A: "PDF/X-1a:2003", Standard.X4: "PDF/X-4"}[self]


class SparePages(StrEnum):
    """What stands on the pages that bring a book to the number its binding needs."""

    BLANK = "blank"
    NOTES = "notes"      # ruled lines to write on


@dataclass(frozen=True, slots=True)
class PressSettings:
    """What the printed book is to be. `bleed` is in mm; `profile` the printer's ICC profile, for PDF/X-4 only,
    and `condition` the registered name of what it was made for, where the profile itself does not say;
    `multiple` what the page count must be a multiple of; `date` the only day the files may name. Where the
    manifest says nothing of a press, none of it is `stated`.
    """

    standard: Standard = Standard.X1A
    stock: Stock = Stock.UNCOATED
    profile: Path | None = None
    condition: str | None = None
    bleed: float = 3.0
    marks: bool = False
    slug: bool = False
    multiple: int = 4
    fill: SparePages = SparePages.BLANK
    date: Date | None = None
    stated: bool = False


class Binding(StrEnum):
    """How the leaves are held."""

    PERFECT = "perfect"      # glued to a flat spine
    SADDLE = "saddle"        # stapled in the fold: no spine


@dataclass(frozen=True, slots=True)
class Cover:
    """What the manifest says of the cover: `picture` stands in place of the puzzle. Lengths are mm; `caliper` is
    the thickness of a leaf, `allowance` what the cover's own board and the glue add to the spine, `spine` the
    printer's figure, which stands over both.
    `spine_text` None means wherever the spine is wide enough. `profile` and `condition` are as for the book,
    of the cover's own stock. `places` has a spot for each key that was written, and for the whole under "cover".
    """

    puzzle: Puzzle
    blurb: str
    ean5: str | None
    magnification: int
    binding: Binding
    stock: Stock
    caliper: float | None
    allowance: float
    spine: float | None
    spine_text: bool | None
    reversed: bool
    profile: Path | None
    condition: str | None
    places: Mapping[str, Place]
    picture: Illustration | None = None


@dataclass(frozen=True, slots=True)
class Book:
    """Everything the pages need. `imprint` is a list of lines; `introduction` is prose, a blank line
    between paragraphs. `grade_words` are the publisher's own words for the grades, all of them or none. `picture`
    stands on the title page, and `mark`, the publisher's, over the imprint; `ink` is a second one, beside black.
    `written` has, by key, where its texts stand; `cover.blurb` is one of them.
    """

    title: str
    subtitle: str | None
    by: str | None
    language: str
    imprint: tuple[str, ...]
    isbn: str | None
    introduction: str | None
    layout: Layout
    pages: PageSettings
    sections: tuple[Section, ...]
    press: PressSettings = PressSettings()
    cover: Cover | None = None
    grades: Grades = Grades.MARKS
    grade_words: Mapping[Grade, str] | None = None
    text_pages: tuple[TextPage, ...] = ()
    index: tuple[IndexBy, ...] = ()
    written: Mapping[str, Written] = field(default_factory=dict, compare=False, repr=False)
    short_title: str | None = None
    answers: AnswersAt = AnswersAt.BACK
    foot: Foot = Foot.NONE
    picture: Illustration | None = None
    mark: Illustration | None = None
    ink: SpotInk | None = None

    def __repr__(self) -> str:
        puzzles = sum(len(section.entries) for section in self.sections)
        return f"Book({self.title!r}, {self.layout!r}, {len(self.sections)} sections, {puzzles} puzzles)"

    @property
    def head(self) -> str:
        """What running heads call it."""
        return self.short_title or self.title

    @property
    def entries(self) -> Iterator[Entry]:
        """All puzzles in reading order."""
        for section in self.sections:
            yield from section.entries

    def layout_in(self, section: Section) -> Layout:
        """The look of a section's puzzles on their own pages."""
        return section.layout.on_pages_of(self.layout) if section.layout else self.layout

    def layout_of(self, entry_id: str) -> Layout:
        """The look of a puzzle on its own page; the book's for one that is in no section."""
        return next((self.layout_in(section) for section in self.sections
                     if section.layout and any(entry.id == entry_id for entry in section.entries)), self.layout)

    def answered(self, at: AnswersAt) -> Iterator[Entry]:
        """The puzzles whose answers stand in some place."""
        return (entry for section in self.sections if (section.answers or self.answers) is at
                for entry in section.entries)

    @property
    def pictures(self) -> Iterator[Illustration]:
        """All pictures of the publisher's own."""
        return pictures_in((self.picture, self.mark), self.sections, self.text_pages)

    def own(self, position: Position, section: int | None = None) -> Iterator[tuple[int, TextPage]]:
        """The publisher's own pages that stand somewhere, each with its number among all of them, from 0."""
        return ((number, page) for number, page in enumerate(self.text_pages)
                if page.position is position and page.section == section)

    def place_of(self, key: str, part: str = "") -> Place:
        """Where the text under a key stands, or a part of it."""
        return place_in(self.written, key, part)


def pictures_in(
    own: Iterable[Illustration | None], sections: Iterable[Section], pages: Iterable[TextPage],
) -> Iterator[Illustration]:
    """The pictures among a book's own, and those of some of its parts."""
    parts = (*own, *(section.picture for section in sections), *(page.picture for page in pages))
    return (picture for picture in parts if picture)
