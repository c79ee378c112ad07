"""What each file of a book is to be besides its pages: for a screen, for a press, or come back from elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from cagework.typeset.book import Book
from cagework.typeset.draw.outside import Outside, outside_marks, sheet_of
from cagework.typeset.marks import Mark, Page, Sheet
from cagework.typeset.plan import Pages
from cagework.typeset.preflight.profile import stock_limits
from cagework.typeset.readback.asked import Asked
from cagework.typeset.readback.entries import says_its_letters, shows_its_letters
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import each, look
from cagework.typeset.write.dates import moment_of
from cagework.typeset.write.pdf import About
from cagework.typeset.write.press import PressSpec

_MARK_LINE = 0.25
_SLUG_TYPE = 6.5
"""The weight of crop marks and the type of the slug line, in pt (common practice), where the stock holds them."""

_WRITER = "cagework"
_CLOSE = 0.5
"""Points by which a sheet may miss its size."""


def about_of(book: Book) -> About:
    """What a book's files say of themselves."""
    return About(book.title, book.by or "", book.subtitle or "", book.language, moment_of(book.press.date))


def spec_of(book: Book) -> PressSpec:
    """What a book's press file is to be."""
    day = moment_of(book.press.date)
    return PressSpec(book.title, day, day, book.press.standard, book.press.stock, book.press.profile,
                     book.press.condition)


def outside_look(book: Book) -> Outside:
    """How what stands outside the trim of a press file is drawn, as its stock holds it."""
    limits = stock_limits()[book.press.stock]
    return Outside(max(_MARK_LINE, limits.line), max(_SLUG_TYPE, limits.type))


def for_press(laid: Pages, page: Page, number: int) -> Page:
    """A page of the book with all that stands outside its trim."""
    return replace(page, marks=(*page.marks, *_outside(laid)(page, number)))


def _outside(laid: Pages) -> Callable[[Page, int], tuple[Mark, ...]]:
    look_of_it = outside_look(laid.setting.book)

    def outside(page: Page, number: int) -> tuple[Mark, ...]:
        return outside_marks(laid.setting, page, number, look_of_it)

    return outside


def screen_edition(laid: Pages) -> Asked:
    """The book for a screen, as it is written."""
    book = laid.setting.book
    return Asked(about_of(book), True, False, Sheet(0.0, 0.0), None, True, True, True, True, spot=book.ink)


def press_edition(laid: Pages) -> Asked:
    """The book for a press, as it is written."""
    book = laid.setting.book
    return Asked(about_of(book), True, True, sheet_of(book), _outside(laid), True, False, True, False,
                 spot=book.ink)


def cover_edition(book: Book, sheet: Sheet) -> Asked:
    """A cover, as it is written."""
    return Asked(about_of(book), True, True, sheet, None, True, False, False, False)


def booklet_edition(book: Book) -> Asked:
    """A booklet, as it is written: of itself it says but its title and author."""
    about = replace(about_of(book), subject="", language="")
    return Asked(about, True, False, Sheet(0.0, 0.0), None, False, False, False, False, spot=book.ink)


def returned_edition(document: PdfDocument, asked: Asked, book: Book, pages: Sequence[Page]) -> Asked:
    """What to ask of a file that came back, of which `asked` would be asked as it is written: by who wrote it
    last, and the paper it has. `pages` are what it is to show.
    """
    dated = asked.dated and book.press.date is not None
    lacking = [] if dated and _ours(document) else ["the dates in the file"]
    if asked.linked or asked.bookmarked:
        lacking.append("where on its page a link or bookmark leads")
    if document.xmp:
        lacking.append("metadata besides the title")
    if asked.press:
        lacking.append("the printing condition, which the preflight looks at")
    if not _fits(document, asked.sheet, pages[0]):
        asked = replace(asked, sheet=None, outside=None)
        lacking.append("the sheet outside the trim")
    if not _ours(document):
        asked, more = _from_elsewhere(document, asked)
        lacking += more
    return replace(asked, dated=dated, lacking=tuple(lacking))


def _ours(document: PdfDocument) -> bool:
    return str(document.info.get("/Producer", "")) == _WRITER


def _from_elsewhere(document: PdfDocument, asked: Asked) -> tuple[Asked, list[str]]:
    """What a file may do without that another program wrote, and so is not compared."""
    linked = asked.linked and any(look(note, "/Subtype") == "/Link" for sheet in document.sheets
                                  for note in each(look(sheet.page, "/Annots")))
    bookmarked = asked.bookmarked and "/Outlines" in document.root
    untold = [word for key, word in (("/Title", "title"), ("/Author", "author"), ("/Subject", "subject"))
              if key not in document.info]
    lacking = [
        *(["links (the file has none)"] if asked.linked and not linked else []),
        *(["bookmarks (the file has none)"] if asked.bookmarked and not bookmarked else []),
        *(["tags (another program wrote the file)" if "/StructTreeRoot" in document.root else
           "tags (the file has none)"] if asked.tagged else []),
        *(["language (the file names none)"] if "/Lang" not in document.root else []),
        *([f"{', '.join(untold)} (the file names none)"] if untold else []),
        *(["what letters are copied as (fonts do not say)"] if not says_its_letters(document) else []),
        *(["the faces of letters (fonts were redrawn)"] if not shows_its_letters(document) else []),
    ]
    return replace(asked, ours=False, linked=linked, bookmarked=bookmarked, tagged=False), lacking


def _fits(document: PdfDocument, sheet: Sheet | None, page: Page) -> bool:
    """Whether every page has the paper round its trim that was asked for."""
    room = sheet.room if sheet else 0.0
    return all(has_paper(one, page.width + 2 * room, page.height + 2 * room) for one in document.sheets)


def has_paper(sheet: PdfPage, width: float, height: float) -> bool:
    """Whether a page's whole sheet is of this size in pt."""
    return max(abs(sheet.media.width - width), abs(sheet.media.height - height)) < _CLOSE
