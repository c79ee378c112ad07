"""A file that came back, to which of a book's files it is, and every difference from that one."""

from __future__ import annotations

from typing import NamedTuple

from cagework.typeset.choices import SHEETS
from cagework.typeset.editions import (
    about_of,
    booklet_edition,
    cover_edition,
    has_paper,
    press_edition,
    returned_edition,
    screen_edition,
)
from cagework.typeset.extras import ExtraError, drawn_cover
from cagework.typeset.host.parallel import Share, in_turn
from cagework.typeset.marks import MM
from cagework.typeset.plan import Pages
from cagework.typeset.readback.compare import Original, ReadBack, read_back, read_flat
from cagework.typeset.readback.difference import Difference
from cagework.typeset.reader.document import PdfDocument, in_short
from cagework.typeset.write.booklet import ImposedSides


class Compared(NamedTuple):
    """Which of a book's files one is, in words, and how it differs."""

    part: str
    read: ReadBack


def compare_returned(document: PdfDocument, original: Original, share: Share = in_turn) -> Compared:
    """Hold a file against the book, or, by its number of pages and their size, against its cover or booklet.

    Where the file is too broken for that, this is how it differs. ExtraError where the manifest's cover cannot be
    drawn.
    """
    try:
        return _compared(document, original, share)
    except ExtraError:
        raise
    except Exception as error:  # a broken file can trip pypdf anywhere, by any error
        broken = Difference(None, "", None, "this cannot be compared, for the file is broken: " + in_short(error))
        return Compared("the book", ReadBack((broken,), ("what comes after that",)))


def _compared(document: PdfDocument, original: Original, share: Share) -> Compared:
    laid, book = original.laid, original.book
    count, fonts = len(document.sheets), laid.setting.fonts
    if count != len(laid.pages):
        if count == 1 and book.cover:
            cover = drawn_cover(book, book.cover, len(laid.pages), about_of(book), fonts, laid.setting.words)
            asked = returned_edition(document, cover_edition(book, cover.sheet), book, (cover.page,))
            return Compared("its cover", read_flat(document, (cover.page,), asked, fonts, share=share))
        if sides := _imposed(document, laid):
            asked = returned_edition(document, booklet_edition(book), book, sides)
            return Compared("its booklet", read_flat(document, sides, asked, fonts, sides.frames, share=share))
    edition = press_edition(laid) if document.claims else screen_edition(laid)
    asked = returned_edition(document, edition, book, laid.pages)
    return Compared("the book", read_back(document, original, asked, share=share))


def _imposed(document: PdfDocument, laid: Pages) -> ImposedSides | None:
    """The sides of the sheets that a file of this size and number of pages may be."""
    for name, (across, down) in SHEETS.items():
        sides = ImposedSides(laid.pages, name)
        if len(sides) == len(document.sheets) and has_paper(document.sheets[0], across * MM, down * MM):
            return sides
    return None
