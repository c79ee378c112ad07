"""What the commands make besides the book's pages, to look at: cover, sheets of the press file, booklet.

Each is drawn from the marks that its file is written from.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from cagework.typeset.book import Book, Cover
from cagework.typeset.draw.describe import describe_grid
from cagework.typeset.draw.outside import sheet_of
from cagework.typeset.editions import about_of, for_press
from cagework.typeset.extras import BOOKLET_PDF, COVER_PDF, ExtraError, booklet_sheet, drawn_cover
from cagework.typeset.faults import Fault, counted
from cagework.typeset.marks import MM, Fill, Group, Page, Sheet, rectangle
from cagework.typeset.plan import DrawnOnDemand, Pages, Plan
from cagework.typeset.words import load_words
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.booklet import ImposedSides, sides
from cagework.typeset.write.cover import CoverFile
from cagework.typeset.write.svg import svg_text

_PAPER = Sheet(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class SheetSet:
    """Sheets of one kind: the file they are written to, each drawn by its place from 0, the paper round the trim,
    each in words, where a spine lies (mm from the trim's left edge, and its width), and what to tell the editor.
    """

    file: str
    pages: Sequence[Page]
    sheet: Sheet
    said: Callable[[int], str]
    spine: tuple[float, float] | None = None
    notes: tuple[str, ...] = ()

    def measures(self) -> dict[str, Any]:
        """Sizes in mm: the whole sheet, and of its trim and what is printed over it how far they lie within."""
        page, room = self.pages[0], self.sheet.room
        return {"file": self.file, "count": len(self.pages), "notes": list(self.notes),
                "width": (page.width + 2 * room) / MM, "height": (page.height + 2 * room) / MM,
                "trim": room / MM, "bleed": (room - self.sheet.bleed) / MM, "spine": self.spine,
                "said": [self.said(place) for place in range(len(self.pages))]}


class Sheets:
    """All sheets of one plan. Any thread may ask; a cover is drawn once."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._pages = Pages(DrawnOnDemand(len(plan.leaves), plan.page), (), plan.setting, plan.pages, plan.places)
        self._drawing = threading.Lock()

    def state(self) -> dict[str, Any]:
        """Kind -> its measures, or the fault for which there are none; no kind that the book has not."""
        with self._drawing:
            return {kind: {"fault": one} if isinstance(one, Fault) else one.measures()
                    for kind, one in self._kinds.items()}

    def svg(self, kind: str, number: int) -> str:
        """A sheet, from 1. LookupError where there is none."""
        with self._drawing:
            one = self._kinds[kind]
            if isinstance(one, Fault) or not 0 < number <= len(one.pages):
                raise LookupError("there is no such sheet")
            page = one.pages[number - 1]
        return svg_text(page.marks, page.width, page.height, self.plan.setting.fonts, one.said(number - 1),
                        around=one.sheet.room)

    @cached_property
    def _kinds(self) -> Mapping[str, SheetSet | Fault]:
        book = self.plan.setting.book
        found: dict[str, SheetSet | Fault] = {}
        for kind, made in (("cover", self._cover if book.cover else None), ("press", self._press),
                           ("booklet", self._booklet)):
            try:
                if made:
                    found[kind] = made()
            except ExtraError as error:
                found[kind] = error.fault
        return found

    def _cover(self) -> SheetSet:
        setting = self.plan.setting
        book = setting.book
        assert book.cover, "it is asked for where there is one"
        made = drawn_cover(book, book.cover, len(self.plan.leaves), about_of(book), setting.fonts, setting.words)
        said = _cover_in_words(book, book.cover, made)
        return SheetSet(str(COVER_PDF), (made.page,), made.sheet, lambda _: said,
                        (book.layout.trim.width, made.spine) if made.spine else None, made.notes)

    def _press(self) -> SheetSet:
        book, count = self.plan.setting.book, len(self.plan.leaves)
        pages = DrawnOnDemand(count, lambda number: for_press(self._pages, self.plan.page(number), number))
        press = book.press
        shown = [name for name, there in (("crop and registration marks", press.marks), ("slug line", press.slug))
                 if there]
        outside = f"with {' and '.join(shown)}" if shown else "without marks"
        return SheetSet("book-press.pdf", pages, sheet_of(book),
                        lambda place: f"Press sheet of page {place + 1}, {outside}, {press.bleed:g} mm of bleed",
                        notes=(f"{press.standard.claim} for {press.stock} paper, {press.bleed:g} mm of bleed",))

    def _booklet(self) -> SheetSet:
        book, pages = self.plan.setting.book, self._pages.pages
        imposed = ImposedSides(pages, booklet_sheet(book, None))
        order = tuple(sides(len(pages)))

        def said(place: int) -> str:
            side = order[place]
            held = " and ".join(f"page {number}" if number else "a blank" for number in (side.left, side.right))
            return f"Side {place % 2 + 1} of sheet {side.depth + 1} of {imposed.sheet}: {held}"

        trimmed = DrawnOnDemand(len(imposed), lambda number: _trimmed(imposed, number - 1))
        note = f"{counted(len(order) // 2, 'sheet')} of {imposed.sheet}, printed on both sides, folded once"
        return SheetSet(str(BOOKLET_PDF), trimmed, _PAPER, said, notes=(note,))


def _trimmed(imposed: ImposedSides, place: int) -> Page:
    """A side of a sheet with nothing of its pages past their trim, as the file has them."""
    side = imposed[place]
    pages = tuple(mark for mark in side.marks if isinstance(mark, Group) and mark.name.startswith("page-"))
    holes = (rectangle(left, top, right - left, low - top) for left, top, right, low in imposed.frames(place))
    white = Fill((rectangle(0.0, 0.0, side.width, side.height), *holes), 0.0)
    return Page(side.width, side.height, (*pages, white, *(mark for mark in side.marks if mark not in pages)))


def _cover_in_words(book: Book, cover: Cover, made: CoverFile) -> str:
    """The cover for who does not see it, in the editor's language."""
    spine = f"a spine of {made.spine:.1f} mm" if made.spine else "no spine"
    front = cover.picture.alt if cover.picture else describe_grid(
        cover.puzzle, load_words("en").described, Sentences("en"))
    words = [f"The cover, flat: back, {spine}, front, {book.press.bleed:g} mm of bleed.",
             f"On the front {', '.join(filter(None, (book.title, book.subtitle, book.by)))}."]
    if front:
        words.append(f"Below: {front}")
    if cover.blurb:
        words.append(f"On the back: {cover.blurb}")
    if book.isbn:
        words.append(f"A barcode of {book.isbn}.")
    return " ".join(words)
