"""What a build can make beside the book's own files: the cover, ready for a press, and the booklet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cagework.typeset.book import Book, Cover
from cagework.typeset.choices import Purpose
from cagework.typeset.draw.cover import CoverError
from cagework.typeset.faults import Fault
from cagework.typeset.marks import Page, Sheet
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import Words
from cagework.typeset.write.booklet import ImposedSides, NoSheetError, impose, sheet_for
from cagework.typeset.write.cover import CoverFile, cover_pdf
from cagework.typeset.write.pdf import About, pdf_bytes
from cagework.typeset.write.press import PressError, PressSpec, press_bytes

COVER_PDF = Path("cover.pdf")
BOOKLET_PDF = Path("booklet.pdf")


@dataclass(frozen=True, slots=True)
class Extra:
    """A file by its name under the output folder: its bytes, what it is held to, notes for the editor; and what it
    is to show, `pages` on `sheet`.
    """

    name: Path
    pdf: bytes
    profile: Profile
    notes: tuple[str, ...]
    pages: Sequence[Page]
    sheet: Sheet


class ExtraError(Exception):
    """A file that cannot be made, as a fault."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.message)
        self.fault = fault


def drawn_cover(book: Book, cover: Cover, pages: int, about: About, fonts: Fonts, words: Words) -> CoverFile:
    """The cover of a book of so many pages. ExtraError where it cannot be made as the manifest asks."""
    try:
        return cover_pdf(book, cover, pages, about, fonts, words)
    except CoverError as error:
        raise ExtraError(Fault(cover.places.get(error.key, cover.places["cover"]), str(error))) from error


def cover_file(
    book: Book, cover: Cover, pages: int, about: About, spec: PressSpec, fonts: Fonts, words: Words,
) -> Extra:
    """The cover of a book of so many pages, gone through the press pass for its own stock. ExtraError where it
    cannot be made as the manifest asks.
    """
    made = drawn_cover(book, cover, pages, about, fonts, words)
    try:
        pdf = press_bytes(made.pdf, replace(spec, stock=cover.stock, icc=cover.profile, condition=cover.condition))
    except PressError as error:
        raise ExtraError(Fault(COVER_PDF, str(error))) from error
    profile = Profile(Purpose.PRESS, cover.stock, made.trim_mm)
    return Extra(COVER_PDF, pdf, profile, tuple(f"{COVER_PDF}: {note}" for note in made.notes), (made.page,),
                 made.sheet)


def booklet_sheet(book: Book, asked: str | None) -> str:
    """The sheet for a booklet, known before any page is drawn. ExtraError where two pages do not fit."""
    try:
        return sheet_for(book.layout.trim.width, book.layout.trim.height, asked)
    except NoSheetError as error:
        raise ExtraError(Fault(BOOKLET_PDF, str(error), "choose a larger sheet, or a smaller layout")) from error


def booklet_file(pages: Sequence[Page], about: About, fonts: Fonts, sheet: str) -> Extra:
    """The pages imposed on `sheet`, which takes two of them."""
    booklet = impose(pdf_bytes(pages, (), about, fonts, Sheet(0.0, 0.0)), about, fonts, sheet)
    return Extra(BOOKLET_PDF, booklet.pdf, Profile(Purpose.SCREEN),
                 tuple(f"{BOOKLET_PDF}: {note}" for note in booklet.notes), ImposedSides(pages, sheet),
                 Sheet(0.0, 0.0))
