"""A book's cover as a PDF for the press pass: the spine from the page count, the matter from the manifest."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.typeset.book import Binding, Book, Cover
from cagework.typeset.draw.cover import CoverError, CoverMatter, cover_page, spine_for_text
from cagework.typeset.draw.crop import reach_of
from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import MM, Page, Sheet
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.trade.barcode import Barcode
from cagework.typeset.trade.binding import Flat, spine_mm
from cagework.typeset.words import Words
from cagework.typeset.write.pdf import About, pdf_bytes

_EDGE = 2.0
"""Mm that stay clear at the sheet's edge."""


@dataclass(frozen=True, slots=True)
class CoverFile:
    """A cover's bytes, what they were written from, its trimmed size flat in mm (width, height), its spine in mm,
    notes for the editor.
    """

    pdf: bytes
    page: Page
    sheet: Sheet
    trim_mm: tuple[float, float]
    spine: float
    notes: tuple[str, ...]


def cover_pdf(book: Book, cover: Cover, pages: int, about: About, fonts: Fonts, words: Words) -> CoverFile:
    """The cover for a book of so many pages, on one sheet with the book's bleed, and crop marks outside it.
    CoverError where something on it does not fit.
    """
    least = spine_for_text(book.layout)
    spine, bleed = spine_width(cover, pages, least), book.press.bleed
    width, height = book.layout.trim.width, book.layout.trim.height
    flat = Flat(width * MM, height * MM, spine * MM)
    barcode = Barcode(book.isbn, cover.ean5, cover.magnification) if book.isbn else None
    titled = spine >= least and cover.spine_text is not False
    matter = CoverMatter(cover.picture or cover.puzzle, cover.blurb, barcode, cover.reversed, titled)
    page = cover_page(Setting.of(book, fonts, words), flat, bleed, matter)
    sheet = Sheet(bleed * MM, (reach_of(bleed) + _EDGE) * MM)
    return CoverFile(pdf_bytes((page,), (), about, fonts, sheet), page, sheet, (2 * width + spine, height), spine,
                     tuple(_notes(cover, pages, spine, least)))


def spine_width(cover: Cover, pages: int, least: float) -> float:
    """The width of the spine in mm: none in a saddle-stitched book; the printer's figure where there is one.
    CoverError where text was asked for on a spine of less than `least`.
    """
    if cover.binding is Binding.SADDLE:
        return 0.0
    width = cover.spine or spine_mm(pages, cover.caliper or 0.0, cover.allowance)
    if cover.spine_text and width < least:
        raise CoverError("spine_text", f"a spine of {width:.1f} mm is too thin for text, which needs "
                                       f"{least:.3g} mm")
    return width


def _notes(cover: Cover, pages: int, spine: float, least: float) -> list[str]:
    if cover.binding is Binding.SADDLE:
        return []
    said = []
    if cover.spine is None:
        said.append(f"a spine of {spine:.2f} mm for {pages} pages; ask the printer for theirs, and state that as "
                    "spine")
    if spine < least and cover.spine_text is not False:
        said.append(f"the spine is left bare: under {least:.3g} mm it is too thin for text")
    return said
