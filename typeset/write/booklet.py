"""A book's PDF imposed two pages to a side, to be printed on both sides, folded once and stapled in the fold.

Sheets lie inside one another, so a sheet's paper pushes those within it outwards. Sheet k, counted from 0 at the
outside, stands out by k times the thickness of the paper; its pages are moved that much towards the fold, and
when the edges are cut level all outer margins are alike (colorvisionprinting.com, binding: what is creep).
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import overload

from pypdf import PageObject, PdfWriter
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
)

from cagework.layouts.page import Box
from cagework.typeset.choices import SHEETS
from cagework.typeset.draw.crop import crop_marks, reach_of
from cagework.typeset.faults import counted
from cagework.typeset.marks import MM, Group, Mark, Page, scaled
from cagework.typeset.reader.parsing import Reader
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.pdf import About, pdf_bytes

_INCHES = frozenset({"letter", "legal", "tabloid"})
OFFICE_PAPER_MM = 0.1
"""Thickness of 80 g/m² paper (printabook.co.nz: 100 leaves, 10 mm)."""
_MOST_SHEETS = 13
"""What saddle stitching takes at most: 52 pages (endeavorprinting.com printing tips)."""
_SLACK = 0.05


class NoSheetError(ValueError):
    """Two pages fit no sheet, or not the one asked for. The text is for the editor."""


@dataclass(frozen=True, slots=True)
class SheetSide:
    """One side of a sheet: the pages (from 1) on its left and right, None for a blank, and how many sheets lie
    outside it.
    """

    left: int | None
    right: int | None
    depth: int


@dataclass(frozen=True, slots=True)
class Booklet:
    """An imposed file: its bytes, the sheet's name, how many sheets of paper, how many blank pages at the end."""

    pdf: bytes
    sheet: str
    sheets: int
    blanks: int

    @property
    def notes(self) -> tuple[str, ...]:
        """How to print and fold it."""
        blank = f", {counted(self.blanks, 'blank page')} at the end" if self.blanks else ""
        said = f"{counted(self.sheets, 'sheet')} of {self.sheet}{blank}: print on both sides at actual size, " \
               "flip on short edge; fold once, staple in the fold"
        if self.sheets > _MOST_SHEETS:
            return said, f"more than {_MOST_SHEETS} sheets are hard to fold and staple at once"
        return (said,)


def sides(pages: int) -> Iterator[SheetSide]:
    """The sides in the order a duplex printer takes them: the outermost sheet's outside, its inside, and so on."""
    count = pages + -pages % 4

    def page(number: int) -> int | None:
        return number if number <= pages else None

    for depth in range(count // 4):
        first = 2 * depth + 1
        yield SheetSide(page(count + 1 - first), page(first), depth)
        yield SheetSide(page(first + 1), page(count - first), depth)


def sheet_for(width: float, height: float, asked: str | None = None) -> str:
    """The sheet asked for, or the smallest that takes two pages of width x height mm side by side: an American one
    for pages in whole eighths of an inch, ISO otherwise. NoSheetError where they do not fit.
    """
    if asked and not _fits(asked, width, height):
        raise NoSheetError(f"two pages of {width:.4g} x {height:.4g} mm do not fit on {asked}")
    if asked:
        return asked
    inches = all(abs(side / 3.175 - round(side / 3.175)) * 3.175 < _SLACK for side in (width, height))
    fitting = [name for name in SHEETS if (name in _INCHES) == inches and _fits(name, width, height)]
    if not fitting:
        raise NoSheetError(f"no sheet up to {'tabloid' if inches else 'A2'} takes two pages of "
                           f"{width:g} x {height:g} mm")
    return min(fitting, key=lambda name: SHEETS[name][0] * SHEETS[name][1])


def _fits(name: str, width: float, height: float) -> bool:
    across, down = SHEETS[name]
    return 2 * width <= across + _SLACK and height <= down + _SLACK


def impose(pdf: bytes, about: About, fonts: Fonts, sheet: str | None = None,
           caliper: float = OFFICE_PAPER_MM) -> Booklet:
    """Impose a PDF whose pages are all of one size; `caliper` is the paper's thickness in mm.

    Links and bookmarks are left behind. NoSheetError where two pages do not fit the sheet.
    """
    reader = Reader(pdf)
    trim = reader.pages[0].trimbox
    width, height = float(trim.width), float(trim.height)
    name = sheet_for(width / MM, height / MM, sheet)
    across, down = (side * MM for side in SHEETS[name])
    blank = Reader(_bare_sheet(across, down, width, height, about, fonts)).pages[0]
    writer = PdfWriter()
    writer.pdf_header = "%PDF-1.4"
    order = tuple(sides(len(reader.pages)))
    for side in order:
        _fill(writer, writer.add_page(blank), [(reader.pages[number - 1], left, low) for number, left, low
                                               in _placed(side, across, down, width, height, caliper)])
    _finish(writer, about, hashlib.sha256(pdf + f"{name} {caliper}".encode()).digest())
    out = io.BytesIO()
    writer.write(out)
    return Booklet(out.getvalue(), name, len(order) // 2, -len(reader.pages) % 4)


def _placed(
    side: SheetSide, across: float, down: float, width: float, height: float, caliper: float,
) -> Iterator[tuple[int, float, float]]:
    """The pages on a side of a sheet, all in pt: their numbers, and how far in and up their lower left corners
    lie.
    """
    fold, creep = across / 2, side.depth * caliper * MM
    for number, left in ((side.left, fold - width + creep), (side.right, fold - creep)):
        if number is not None:
            yield number, left, (down - height) / 2


@dataclass(frozen=True, slots=True)
class ImposedSides(Sequence[Page]):
    """The sides of a booklet's sheets as pages: what `impose` should come to. `pages` are the book's."""

    pages: Sequence[Page]
    sheet: str
    caliper: float = OFFICE_PAPER_MM

    def __len__(self) -> int:
        return (len(self.pages) + 3) // 4 * 2

    @overload
    def __getitem__(self, place: int) -> Page: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Page]: ...
    def __getitem__(self, place: int | slice) -> Page | Sequence[Page]:
        order = tuple(sides(len(self.pages)))[place]
        return self._drawn(order) if isinstance(order, SheetSide) else [self._drawn(side) for side in order]

    def _drawn(self, side: SheetSide) -> Page:
        across, down = (edge * MM for edge in SHEETS[self.sheet])
        first = self.pages[0]
        marks: list[Mark] = list(_bare_marks(across, down, first.width, first.height))
        for number, left, low in _placed(side, across, down, first.width, first.height, self.caliper):
            page = self.pages[number - 1]
            moved = tuple(scaled(mark, 1.0, left, down - low - page.height) for mark in page.marks)
            marks.append(Group(f"page-{number}", moved))
        return Page(across, down, tuple(marks))

    def frames(self, place: int) -> tuple[tuple[float, float, float, float], ...]:
        """Where the pages of a side lie, and are cut: left, top, right, bottom in pt from the top left."""
        across, down = (edge * MM for edge in SHEETS[self.sheet])
        first, side = self.pages[0], tuple(sides(len(self.pages)))[place]
        return tuple((left, down - low - first.height, left + first.width, down - low) for _, left, low
                     in _placed(side, across, down, first.width, first.height, self.caliper))


def _bare_sheet(across: float, down: float, width: float, height: float, about: About, fonts: Fonts) -> bytes:
    """A sheet with crop and fold marks, where it is larger than the two pages by enough to show them."""
    return pdf_bytes((Page(across, down, _bare_marks(across, down, width, height)),), (), about, fonts)


def _bare_marks(across: float, down: float, width: float, height: float) -> tuple[Mark, ...]:
    trim = Box(across / 2 - width, (down - height) / 2, 2 * width, height)
    roomy = min(trim.x, trim.y) >= reach_of(0.0) * MM
    return (crop_marks(trim, 0.0, (across / 2,)),) if roomy else ()


def _fill(writer: PdfWriter, target: PageObject, placed: Iterable[tuple[PageObject, float, float]]) -> None:
    """Put pages on a sheet as forms (ISO 32000-1, 8.10), each with its trim's lower left corner at (left, low).
    Fonts stay shared; annotations stay behind.
    """
    forms, code = DictionaryObject(), [_content(target)]
    for page, left, low in placed:
        form = DecodedStreamObject()
        form.set_data(_content(page))
        packed = form.flate_encode()
        packed.update({
            NameObject("/Type"): NameObject("/XObject"), NameObject("/Subtype"): NameObject("/Form"),
            NameObject("/BBox"): ArrayObject(FloatObject(edge) for edge in page.trimbox),
            NameObject("/Resources"): page[NameObject("/Resources")].clone(writer),
        })
        name = f"/P{len(forms)}"
        forms[NameObject(name)] = writer._add_object(packed)
        corner = page.trimbox
        move = (left - float(corner.left), low - float(corner.bottom))
        code.append(f"q 1 0 0 1 {move[0]:.4f} {move[1]:.4f} cm {name} Do Q".encode())
    drawn = DecodedStreamObject()
    drawn.set_data(b"\n".join(code))
    target[NameObject("/Contents")] = writer._add_object(drawn.flate_encode())
    resources = target[NameObject("/Resources")]
    assert isinstance(resources, DictionaryObject)
    resources[NameObject("/XObject")] = forms


def _content(page: PageObject) -> bytes:
    content = page.get_contents()
    return b"" if content is None else content.get_data()


def _finish(writer: PdfWriter, about: About, digest: bytes) -> None:
    """What the file says of itself, and its id."""
    writer.metadata = None
    writer.add_metadata({"/Title": about.title, "/Author": about.author, "/Creator": "cagework",
                         "/Producer": "cagework"})
    writer._ID = ArrayObject([ByteStringObject(digest[:16]), ByteStringObject(digest[:16])])
