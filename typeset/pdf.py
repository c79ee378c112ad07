"""Marks to PDF through reportlab. Black is DeviceGray throughout; every face is embedded and subset.

A file for a screen has links and a structure for screen readers; a file for a press has neither, and may have a
sheet larger than the trim. The bytes depend on the arguments alone: the dates are given, and the document id is
made from the content.
"""

from __future__ import annotations

import hashlib
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, ByteStringObject, NameObject
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from cagework.typeset.dates import UNDATED
from cagework.typeset.marks import (
    After,
    Cap,
    Dash,
    Fill,
    Group,
    Line,
    Mark,
    Outline,
    Page,
    Ring,
    Sheet,
    Text,
    flatten,
)
from cagework.typeset.structure import Told, add_structure
from cagework.typeset.text import Fonts

_CAPS = {Cap.BUTT: 0, Cap.ROUND: 1, Cap.SQUARE: 2}
_SOFT_HYPHEN = "\u00ad"
_PLACEHOLDER = hashlib.sha256(b"the id of a file that is not yet written").digest()[:16]


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry of the outline: what it says, the anchor it leads to, how deep it lies (0 = top)."""

    title: str
    anchor: str
    level: int


@dataclass(frozen=True, slots=True)
class About:
    """What the file says of itself. `language` is a BCP 47 tag; `created` is zoned, and never the clock's."""

    title: str
    author: str
    subject: str
    language: str
    created: datetime = UNDATED


def pdf_bytes(
    pages: Sequence[Page], bookmarks: Iterable[Bookmark], about: About, fonts: Fonts, sheet: Sheet | None = None,
) -> bytes:
    """A complete PDF 1.4 file with TrimBox and BleedBox on each page, for a press where there is a `sheet`.

    ValueError where there is no page.
    """
    if not pages:
        raise ValueError("a PDF needs at least one page")
    first = pages[0]
    buffer = io.BytesIO()
    canvas = Canvas(
        buffer, pagesize=(first.width, first.height), invariant=1, pageCompression=1, pdfVersion=(1, 4),
        initialFontName=_registered(fonts, "sans"),  # type: ignore[arg-type]  # the stub says float
        lang=about.language,
    )
    canvas.setTitle(about.title)
    canvas.setAuthor(about.author)
    canvas.setSubject(about.subject)
    canvas.setCreator("cagework")
    canvas.setProducer("cagework")
    waiting: dict[str, list[Bookmark]] = {}
    for mark in bookmarks:
        waiting.setdefault(mark.anchor, []).append(mark)
    told: list[Sequence[Told]] = []
    for page in pages:
        told.append(_draw_page(canvas, page, fonts, sheet))
        for anchor in page.anchors:
            canvas.bookmarkHorizontal(anchor.name, 0, page.height - anchor.y)
            for mark in waiting.pop(anchor.name, ()):
                canvas.addOutlineEntry(mark.title, mark.anchor, mark.level, closed=mark.level == 0)
        canvas.showPage()
    canvas.save()
    writer = PdfWriter(clone_from=PdfReader(buffer))
    if sheet is None:
        add_structure(writer, told, [page.links for page in pages])
    return _finished(writer, about)


def _finished(writer: PdfWriter, about: About) -> bytes:
    """The file dated, named by its content, and without the empty transitions reportlab leaves on every page."""
    writer.pdf_header = "%PDF-1.4"
    for page in writer.pages:
        page.pop(NameObject("/Trans"), None)
    writer.add_metadata({"/CreationDate": pdf_date(about.created), "/ModDate": pdf_date(about.created)})
    writer._ID = ArrayObject([ByteStringObject(_PLACEHOLDER)] * 2)
    out = io.BytesIO()
    writer.write(out)
    made = out.getvalue()
    ident = hashlib.sha256(made).digest()[:16]
    return made.replace(_PLACEHOLDER.hex().encode(), ident.hex().encode())


def pdf_date(moment: datetime) -> str:
    """A zoned date as PDF writes it (ISO 32000-1, 7.9.4)."""
    zone = moment.strftime("%z")[:5]
    return moment.strftime(f"D:%Y%m%d%H%M%S{zone[:3]}'{zone[3:]}'")


def _draw_page(canvas: Canvas, page: Page, fonts: Fonts, sheet: Sheet | None) -> Sequence[Told]:
    """Draw a page on its sheet, and say what of it is read aloud, in order."""
    room, bleed = (sheet.room, sheet.bleed) if sheet else (0.0, 0.0)
    canvas.setPageSize((page.width + 2 * room, page.height + 2 * room))
    for grow, place in ((0.0, canvas.setTrimBox), (bleed, canvas.setBleedBox)):
        place((room - grow, room - grow, room + page.width + grow, room + page.height + grow))
    if room:
        canvas.translate(room, room)
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    canvas.setLineJoin(0)
    pen = _Pen(canvas, page.height, fonts, tagging=sheet is None)
    pen.draw(page.marks)
    pen.close()
    if sheet is None:
        for link in page.links:
            bottom = page.height - link.y - link.height
            canvas.linkRect("", link.target, (link.x, bottom, link.x + link.width, bottom + link.height),
                            relative=0, Border="[0 0 0]")
    return tuple(pen.told)


class _Pen:
    """Draws one page's marks; `told` gathers what is read aloud, each piece under its number on the page."""

    def __init__(self, canvas: Canvas, height: float, fonts: Fonts, *, tagging: bool) -> None:
        self.told: list[Told] = []
        self._canvas, self._height, self._fonts = canvas, height, fonts
        self._tagging = tagging
        self._open = ""

    def draw(self, marks: Iterable[Mark], inside: bool = False) -> None:
        """Draw marks in order; `inside` a tagged group, whose parts are not tagged again."""
        for mark in marks:
            if isinstance(mark, Group):
                if mark.tag is None or inside or not self._tagging:
                    self.draw(mark.marks, inside)
                    continue
                self._begin(f"/{mark.tag} <</MCID {len(self.told)}>> BDC")
                self.told.append(Told(mark.tag, mark.alt, self._extent(mark) if mark.alt else None))
                self.draw(mark.marks, inside=True)
                self.close()
                continue
            if not inside and self._tagging and not self._open:
                self._begin("/Artifact BMC")
            self._draw_one(mark)

    def close(self) -> None:
        """End the marked content that is open (ISO 32000-1, 14.6)."""
        if self._open:
            self._operate("EMC")
            self._open = ""

    def _begin(self, code: str) -> None:
        self.close()
        self._operate(code)
        self._open = code

    def _operate(self, code: str) -> None:
        """Write an operator reportlab has no call for."""
        self._canvas._code.append(code)  # type: ignore[attr-defined]  # private; reportlab is pinned below 6

    def _draw_one(self, mark: Line | Outline | Fill | Text) -> None:
        canvas, height = self._canvas, self._height
        match mark:
            case Line():
                self._stroke(mark.weight, mark.ink, mark.dash, mark.cap)
                canvas.line(mark.x1, height - mark.y1, mark.x2, height - mark.y2)
            case Outline():
                self._stroke(mark.weight, mark.ink, mark.dash, Cap.BUTT)
                canvas.drawPath(self._path(mark.rings), stroke=1, fill=0)
            case Fill():
                canvas.setFillGray(1 - mark.ink)
                canvas.drawPath(self._path(mark.rings), stroke=0, fill=1, fillMode=0)
            case Text():
                self._write(mark)

    def _stroke(self, weight: float, ink: float, dash: Dash | None, cap: Cap) -> None:
        self._canvas.setLineWidth(weight)
        self._canvas.setStrokeGray(1 - ink)
        self._canvas.setLineCap(_CAPS[cap])
        if dash:
            self._canvas.setDash([dash.on, dash.off], dash.phase)
        else:
            self._canvas.setDash()

    def _path(self, rings: Iterable[Ring]) -> PDFPathObject:
        path = self._canvas.beginPath()
        for ring in rings:
            path.moveTo(ring[0][0], self._height - ring[0][1])
            for x, y in ring[1:]:
                path.lineTo(x, self._height - y)
            path.close()
        return path

    def _write(self, mark: Text) -> None:
        run = self._canvas.beginText()
        run.setFont(_registered(self._fonts, mark.face), mark.size)
        run.setFillGray(1 - mark.ink)
        run.setCharSpace(mark.tracking)
        told = self._open.endswith("BDC")
        cos, sin = math.cos(math.radians(mark.angle)), math.sin(math.radians(mark.angle))
        for offset, chunk in self._chunks(mark) if told else mark.chunks:
            x, y = mark.x + offset * cos, self._height - mark.y - offset * sin
            if mark.angle:
                run.setTextTransform(cos, -sin, sin, cos, x, y)
            else:
                run.setTextOrigin(x, y)
            run.textOut(chunk)
        if told and mark.after is After.SPACE and not mark.string.endswith("-"):
            run.textOut(" ")
        self._canvas.drawText(run)

    def _chunks(self, mark: Text) -> tuple[tuple[float, str], ...]:
        """A run as it is told: a hyphen that only divides a word at the line's end is a soft one (U+00AD), which
        looks alike and is not read.
        """
        if mark.after is not After.DIVISION or self._fonts[mark.face].lacks(_SOFT_HYPHEN):
            return mark.chunks
        *before, (offset, last) = mark.chunks
        return (*before, (offset, last[:-1] + _SOFT_HYPHEN))

    def _extent(self, group: Group) -> tuple[float, float, float, float] | None:
        """The rectangle round a group's outlines and fills, y up; None where it has none."""
        points = [point for mark in flatten(group.marks) if isinstance(mark, Outline | Fill)
                  for ring in mark.rings for point in ring]
        if not points:
            return None
        across, down = zip(*points, strict=True)
        return min(across), self._height - max(down), max(across), self._height - min(down)


def _registered(fonts: Fonts, face: str) -> str:
    """The name under which reportlab knows a face: the file's content decides, so two layouts' faces never mix."""
    file = fonts[face]
    name = f"{file.path.stem}-{file.digest[:8]}"
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, str(file.path)))
    return name
