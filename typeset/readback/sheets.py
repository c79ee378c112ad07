"""How a file's sheets are cut, turned and shown: their boxes, and what else a page's entries do to it."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.marks import MM, Sheet
from cagework.typeset.readback.asked import Asked
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.page_content import SLACK
from cagework.typeset.reader.document import PdfPage, read_box
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.keys import look

_OURS = frozenset({"/Type", "/Parent", "/Contents", "/Resources", "/MediaBox", "/CropBox", "/BleedBox", "/TrimBox",
                   "/ArtBox", "/Rotate", "/UserUnit", "/Annots", "/StructParents", "/Tabs"})
_HARMLESS = frozenset({"/Group", "/Metadata", "/PieceInfo", "/LastModified", "/ID", "/Thumb"})
"""Entries of a page (ISO 32000-1, table 30) that a book's have, and that other programs may leave there."""

_EXACT = 0.05
"""Points by which a box may be off in a file as it was written."""


def compare_sheet(sheet: PdfPage, trim: Rectangle, asked: Asked) -> Iterator[Difference]:
    """Where a page would be shown or cut otherwise than the book's, `trim` being where the book's page lies."""
    for message in _amiss(sheet, trim, asked):
        yield Difference(sheet.number, "sheet", None, message)


def missized(sheet: PdfPage, width: float, height: float) -> Difference:
    """That a page is not of the size, in pt, that it should be."""
    across, down = sheet.trim.size_mm
    return Difference(sheet.number, "size", None, f"it is {across:.1f} x {down:.1f} mm; it should be "
                      f"{width / MM:.1f} x {height / MM:.1f} mm")


def _amiss(sheet: PdfPage, trim: Rectangle, asked: Asked) -> Iterator[str]:
    turn = int(look(sheet.page, "/Rotate", 0)) % 360
    if turn:
        yield f"it is turned by {turn} degrees"
    unit = float(look(sheet.page, "/UserUnit", 1))
    if unit != 1:
        yield f"it is shown {unit:g} times as large (UserUnit)"
    slack = _EXACT if asked.ours else SLACK
    if not sheet.media.holds(trim, slack):
        yield f"its MediaBox, {_size(sheet.media)}, cuts into the page"
    elif not sheet.crop.holds(trim, slack):
        yield f"its CropBox, {_size(sheet.crop)}, cuts into the page"
    if "/ArtBox" in sheet.page and not _is(read_box(look(sheet.page, "/ArtBox")), trim, slack):
        yield "its ArtBox is not the page"
    if "/BleedBox" in sheet.page and not sheet.bleed.holds(trim, slack):
        yield f"its BleedBox, {_size(sheet.bleed)}, cuts into the page"
    elif asked.ours and asked.sheet is not None:
        yield from _off(sheet, trim, asked.sheet)
    for key in sorted(set(map(str, sheet.page)) - _OURS - (frozenset() if asked.ours else _HARMLESS)):
        yield f"it has an entry {key}, which the book's pages do not"


def _off(sheet: PdfPage, trim: Rectangle, asked: Sheet) -> Iterator[str]:
    """Boxes round the trim that are not what was asked for."""
    if "/TrimBox" not in sheet.page:
        yield "it has no TrimBox"
    for name, box, room in (("MediaBox", sheet.media, asked.room), ("CropBox", sheet.crop, asked.room),
                            ("BleedBox", sheet.bleed, asked.bleed)):
        if not _is(box, trim.grown(room), _EXACT):
            yield f"its {name} is {_size(box)}; it should reach {room / MM:.1f} mm past the trim on all sides"
            break


def _is(box: Rectangle, other: Rectangle, slack: float) -> bool:
    return box.holds(other, slack) and other.holds(box, slack)


def _size(box: Rectangle) -> str:
    across, down = box.size_mm
    return f"{across:.1f} x {down:.1f} mm"
