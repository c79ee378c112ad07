"""Marks to PDF through reportlab. Black is DeviceGray throughout; every face is embedded and subset.

The bytes depend on the pages alone: reportlab's invariant mode fixes dates and derives the document id from
the content, and SOURCE_DATE_EPOCH, where set, replaces the fixed date on purpose.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pypdf import PdfReader, PdfWriter
from pypdf.generic import NameObject
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from cagework.typeset.marks import Cap, Dash, Fill, Line, Outline, Page, Ring, Text, flatten
from cagework.typeset.text import Fonts

_CAPS = {Cap.BUTT: 0, Cap.ROUND: 1, Cap.SQUARE: 2}


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry of the outline: what it says, the anchor it leads to, how deep it lies (0 = top)."""

    title: str
    anchor: str
    level: int


@dataclass(frozen=True, slots=True)
class About:
    """What the file says of itself. `language` is a BCP 47 tag."""

    title: str
    author: str
    subject: str
    language: str


def pdf_bytes(pages: Sequence[Page], bookmarks: Iterable[Bookmark], about: About, fonts: Fonts) -> bytes:
    """A complete PDF 1.4 file with TrimBox and BleedBox on each page. ValueError where there is no page."""
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
    waiting = list(bookmarks)
    for page in pages:
        _draw_page(canvas, page, fonts)
        for anchor in page.anchors:
            canvas.bookmarkHorizontal(anchor.name, 0, page.height - anchor.y)
            for mark in [mark for mark in waiting if mark.anchor == anchor.name]:
                canvas.addOutlineEntry(mark.title, mark.anchor, mark.level, closed=mark.level == 0)
                waiting.remove(mark)
        canvas.showPage()
    canvas.save()
    return _tidied(buffer)


def _tidied(buffer: io.BytesIO) -> bytes:
    """The same file without the empty page transitions reportlab leaves on every page."""
    writer = PdfWriter(clone_from=PdfReader(buffer))
    writer.pdf_header = "%PDF-1.4"
    for page in writer.pages:
        page.pop(NameObject("/Trans"), None)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _draw_page(canvas: Canvas, page: Page, fonts: Fonts) -> None:
    canvas.setPageSize((page.width, page.height))
    box = (0, 0, page.width, page.height)
    canvas.setTrimBox(box)
    canvas.setBleedBox(box)
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    canvas.setLineJoin(0)
    for mark in flatten(page.marks):
        match mark:
            case Line():
                _pen(canvas, mark.weight, mark.ink, mark.dash, mark.cap)
                canvas.line(mark.x1, page.height - mark.y1, mark.x2, page.height - mark.y2)
            case Outline():
                _pen(canvas, mark.weight, mark.ink, mark.dash, Cap.BUTT)
                canvas.drawPath(_path(canvas, mark.rings, page.height), stroke=1, fill=0)
            case Fill():
                canvas.setFillGray(1 - mark.ink)
                canvas.drawPath(_path(canvas, mark.rings, page.height), stroke=0, fill=1, fillMode=0)
            case Text():
                _write(canvas, mark, page.height, fonts)
    for link in page.links:
        bottom = page.height - link.y - link.height
        canvas.linkRect("", link.target, (link.x, bottom, link.x + link.width, bottom + link.height),
                        relative=0, Border="[0 0 0]")


def _pen(canvas: Canvas, weight: float, ink: float, dash: Dash | None, cap: Cap) -> None:
    canvas.setLineWidth(weight)
    canvas.setStrokeGray(1 - ink)
    canvas.setLineCap(_CAPS[cap])
    if dash:
        canvas.setDash([dash.on, dash.off], dash.phase)
    else:
        canvas.setDash()


def _path(canvas: Canvas, rings: Iterable[Ring], height: float) -> PDFPathObject:
    path = canvas.beginPath()
    for ring in rings:
        path.moveTo(ring[0][0], height - ring[0][1])
        for x, y in ring[1:]:
            path.lineTo(x, height - y)
        path.close()
    return path


def _write(canvas: Canvas, mark: Text, height: float, fonts: Fonts) -> None:
    run = canvas.beginText()
    run.setFont(_registered(fonts, mark.face), mark.size)
    run.setFillGray(1 - mark.ink)
    run.setCharSpace(mark.tracking)
    cos, sin = math.cos(math.radians(mark.angle)), math.sin(math.radians(mark.angle))
    for offset, chunk in mark.chunks:
        x, y = mark.x + offset * cos, height - mark.y - offset * sin
        if mark.angle:
            run.setTextTransform(cos, -sin, sin, cos, x, y)
        else:
            run.setTextOrigin(x, y)
        run.textOut(chunk)
    canvas.drawText(run)


def _registered(fonts: Fonts, face: str) -> str:
    """The name under which reportlab knows a face: the file's content decides, so two layouts' faces never mix."""
    file = fonts[face]
    name = f"{file.path.stem}-{file.digest[:8]}"
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, str(file.path)))
    return name
