"""Marks to PDF through reportlab. Black is DeviceGray throughout; every face is embedded and subset.

A file for a screen has links and a structure for screen readers; a file for a press has neither, and may have a
sheet larger than the trim. The bytes depend on the arguments alone: the dates are given, and the document id is
made from the content.
"""

from __future__ import annotations

import hashlib
import io
import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from itertools import chain

from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NumberObject,
    TextStringObject,
)
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFStream
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from cagework.typeset.host.parallel import Share, in_turn, page_runs
from cagework.typeset.marks import Bookmark, Link, Page, Sheet
from cagework.typeset.raster import Raster
from cagework.typeset.spot import SpotInk
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.dates import UNDATED
from cagework.typeset.write.objects import FileObjects
from cagework.typeset.write.stream import FACE_MARK, PICTURE_NAME, Advances, Code, page_code
from cagework.typeset.write.structure import TaggedElement, add_structure

_NOT_ASCII = re.compile(r"[^\x00-\x7f]+")
_FACE = re.compile(FACE_MARK + r"(\S+)")
_PLACEHOLDER = hashlib.sha256(b"the id of a file that is not yet written").digest()[:16]


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
    share: Share = in_turn, plates: bool = False,
) -> bytes:
    """A complete PDF 1.4 file with TrimBox and BleedBox on each page, for a press where there is a `sheet`.

    With `plates` a second ink has a plate of its own; else it is shown in its colour, as on a screen.

    Each page is asked for once, in runs that `share` may have drawn by other processes. ValueError where there is
    no page.
    """
    if not pages:
        raise ValueError("a PDF needs at least one page")
    buffer = io.BytesIO()
    canvas = Canvas(
        buffer, invariant=1, pageCompression=1, pdfVersion=(1, 4),
        initialFontName=_registered(fonts, "sans"),  # type: ignore[arg-type]  # the stub says float
        lang=about.language,
    )
    canvas.setTitle(about.title)
    canvas.setAuthor(about.author)
    canvas.setSubject(about.subject)
    canvas.setCreator("cagework")
    canvas.setProducer("cagework")
    letters = _Letters(canvas, fonts)
    waiting: dict[str, list[Bookmark]] = {}
    for mark in bookmarks:
        waiting.setdefault(mark.anchor, []).append(mark)
    jobs = [partial(_coded, pages, run, fonts, sheet is None, plates) for run in page_runs(len(pages))]
    told: list[Sequence[TaggedElement]] = []
    spots: list[Mapping[str, SpotInk]] = []
    links: list[Sequence[Link]] = []
    for code in chain.from_iterable(share(jobs)):
        _add_page(canvas, code, letters, sheet)
        told.append(code.told)
        spots.append(code.spots)
        links.append(code.links)
        for anchor in code.anchors:
            canvas.bookmarkHorizontal(anchor.name, 0, code.height - anchor.y)
            for mark in waiting.pop(anchor.name, ()):
                canvas.addOutlineEntry(mark.title, mark.anchor, mark.level, closed=mark.level == 0)
        canvas.showPage()
        _pack(canvas)
    canvas.save()
    del canvas, letters     # as large as the file, and no longer needed
    file = FileObjects(buffer.getvalue())
    _add_plates(file, spots)
    if sheet is None:
        add_structure(file, told, links)
    return _finished(file, about)


def _coded(pages: Sequence[Page], run: range, fonts: Fonts, tagged: bool, plates: bool) -> list[Code]:
    """Some pages, by their places from 0, written."""
    advances = Advances(partial(_width, fonts), lambda face, char: not fonts[face].lacks(char))
    return [page_code(pages[number], advances, tagged=tagged, plates=plates) for number in run]


def _width(fonts: Fonts, face: str, char: str) -> float:
    """A character's width as the file will state it, in thousandths of an em."""
    file = _font(fonts, face).face
    return float(file.charWidths.get(ord(char), file.defaultWidth))


def _add_page(canvas: Canvas, code: Code, letters: _Letters, sheet: Sheet | None) -> None:
    """A page on its sheet, its letters given codes, and its links."""
    room, bleed = (sheet.room, sheet.bleed) if sheet else (0.0, 0.0)
    canvas.setPageSize((code.width + 2 * room, code.height + 2 * room))
    for grow, place in ((0.0, canvas.setTrimBox), (bleed, canvas.setBleedBox)):
        place((room - grow, room - grow, room + code.width + grow, room + code.height + grow))
    if room:
        canvas.translate(room, room)
    for name, raster in code.pictures.items():
        _hold(canvas, name, raster)
    canvas._code.append(letters.encoded(code.text))  # type: ignore[attr-defined]  # private; reportlab is below 6
    if sheet is None:
        for link in code.links:
            bottom = code.height - link.y - link.height
            canvas.linkRect("", link.target, (link.x, bottom, link.x + link.width, bottom + link.height),
                            relative=0, Border="[0 0 0]")


def _hold(canvas: Canvas, name: str, raster: Raster) -> None:
    """Let the page at hand refer to a picture, which the file holds once (ISO 32000-1, 8.9.5)."""
    doc = canvas._doc  # type: ignore[attr-defined]  # private, as above
    if name not in doc.idToObject:
        stream = PDFStream(PDFDictionary({
            "Type": PDFName("XObject"), "Subtype": PDFName("Image"), "Width": raster.width,
            "Height": raster.height, "ColorSpace": PDFName("DeviceGray"), "BitsPerComponent": raster.bits,
            "Filter": PDFName("FlateDecode")}), zlib.compress(raster.samples, 9))
        doc.Reference(stream, name)
    canvas._formsinuse.append(name.removeprefix(PICTURE_NAME))  # type: ignore[attr-defined]  # private, as above


def _add_plates(file: FileObjects, pages: Iterable[Mapping[str, SpotInk]]) -> None:
    """Tell each page which plates its second inks have, and what stands for them on a proof (ISO 32000-1,
    8.6.6.4, and 7.10.3 for the function).
    """
    made: dict[SpotInk, IndirectObject] = {}
    for page, spots in zip(file.pages, pages, strict=True):
        for name, spot in spots.items():
            if spot not in made:
                proof = DictionaryObject({
                    NameObject("/FunctionType"): NumberObject(2), NameObject("/N"): NumberObject(1),
                    NameObject("/Domain"): _numbers((0, 1)), NameObject("/C0"): _numbers((0, 0, 0, 0)),
                    NameObject("/C1"): _numbers(spot.cmyk)})
                made[spot] = file.add(ArrayObject([
                    NameObject("/Separation"), NameObject(f"/{spot.name}"), NameObject("/DeviceCMYK"), proof]))
            resources = page["/Resources"].get_object()
            assert isinstance(resources, DictionaryObject)
            resources[NameObject("/ColorSpace")] = DictionaryObject({NameObject(f"/{name}"): made[spot]})


def _numbers(values: Iterable[float]) -> ArrayObject:
    return ArrayObject(FloatObject(value) for value in values)


def _pack(canvas: Canvas) -> None:
    """Compress the page just ended, without the ASCII armour reportlab would wrap it in; a page in ten thousand
    lines waits until the file is saved.
    """
    page = canvas._doc.Pages.pages[-1]  # type: ignore[attr-defined]  # private, as above
    page.Contents = PDFStream(PDFDictionary({"Filter": PDFName("FlateDecode")}),
                              zlib.compress(page.stream.encode("latin-1")))
    page.stream = None


class _Letters:
    """Gives letters the codes, and faces the names, under which one file knows them."""

    def __init__(self, canvas: Canvas, fonts: Fonts) -> None:
        self._doc = canvas._doc  # type: ignore[attr-defined]  # private, as above
        self._fonts = fonts
        self._known: dict[tuple[str, str], str] = {}

    def encoded(self, text: str) -> str:
        """A page's content with every letter as its code. ASCII stands for itself in a face's first subset."""
        if not text.isascii():
            text = _NOT_ASCII.sub(self._codes, text)
        return _FACE.sub(lambda found: self._subset(found[1], 0), text)

    def _codes(self, found: re.Match[str]) -> str:
        """Letters outside ASCII, in whichever subsets of their face have them; then back to the first."""
        before = found.string.rfind(FACE_MARK, 0, found.start())
        end = found.string.index(" ", found.string.index(" ", before) + 1)
        chosen = found.string[before + len(FACE_MARK):end]
        known = self._known.get((chosen, found[0]))
        if known is None:
            face, size = chosen.split(" ")
            known = self._known[chosen, found[0]] = self._in_subsets(face, size, found[0])
        return known

    def _in_subsets(self, face: str, size: str, text: str) -> str:
        out, current = "", 0
        for subset, codes in _font(self._fonts, face).splitString(text, self._doc):
            if subset != current:
                out += f")]TJ {self._subset(face, subset)} {size} Tf [("
                current = subset
            out += "".join(f"\\{code:03o}" for code in codes)
        return out + (f")]TJ {self._subset(face, 0)} {size} Tf [(" if current else "")

    def _subset(self, face: str, number: int) -> str:
        return str(_font(self._fonts, face).getSubsetInternalName(number, self._doc))


def _finished(file: FileObjects, about: About) -> bytes:
    """The file dated, named by its content, and without the empty transitions reportlab leaves on every page."""
    for page in file.pages:
        page.pop(NameObject("/Trans"), None)
    date = TextStringObject(pdf_date(about.created))
    file.info.update({NameObject("/CreationDate"): date, NameObject("/ModDate"): date})
    made = file.written("1.4", _PLACEHOLDER)
    ident = hashlib.sha256(made).digest()[:16]
    return made.replace(_PLACEHOLDER.hex().encode(), ident.hex().encode())


def pdf_date(moment: datetime) -> str:
    """A zoned date as PDF writes it (ISO 32000-1, 7.9.4)."""
    zone = moment.strftime("%z")[:5]
    return f"D:{moment.year:04}" + moment.strftime(f"%m%d%H%M%S{zone[:3]}'{zone[3:]}'")


def _font(fonts: Fonts, face: str) -> TTFont:
    """A face as reportlab has it."""
    return fonts.once(_read, face)


def _read(fonts: Fonts, face: str) -> TTFont:
    font = pdfmetrics.getFont(_registered(fonts, face))
    assert isinstance(font, TTFont)
    return font


def _registered(fonts: Fonts, face: str) -> str:
    """The name under which reportlab knows a face: the file's content decides, so two layouts' faces never mix."""
    file = fonts[face]
    name = f"{file.path.stem}-{file.digest[:8]}"
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, str(file.path)))
    return name
