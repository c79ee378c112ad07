"""A PDF's bytes to what the rules look at: its keys, its pages' boxes, and all that is painted.

Reading is pypdf's; it mends much that a press would not, so what it had to mend is kept and reported.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import _lru_cache_wrapper, cache, partial
from typing import Any, NamedTuple

from pypdf import PageObject, PdfReader
from pypdf.errors import DependencyError
from pypdf.generic import DictionaryObject, StreamObject

from cagework.typeset.book import Standard
from cagework.typeset.reader.budget import FileBudget, PageBudget
from cagework.typeset.reader.charmap import read_chars
from cagework.typeset.reader.embedded_font import Chars, EmbeddedFonts
from cagework.typeset.reader.font_file import FontFiles
from cagework.typeset.reader.geometry import Rectangle, box_round
from cagework.typeset.reader.interpreter import walk_page
from cagework.typeset.reader.keys import each, entries, look, numbers
from cagework.typeset.reader.layers import Layers
from cagework.typeset.reader.objects import Held, Objects
from cagework.typeset.reader.paint import Paint
from cagework.typeset.reader.parsing import Reader
from cagework.typeset.reader.pictures import Pictures
from cagework.typeset.reader.walk import Walk

_CLAIM = re.compile(rb"""<\w+:GTS_PDFXVersion\s*>([^<]*)|\w+:GTS_PDFXVersion\s*=\s*["']([^"']*)""")


class UnreadablePdf(Exception):  # noqa: N818 - it says what the file is
    """A file that is no PDF, is locked, or is broken past reading. The text is for the user."""


class EncryptedPdf(UnreadablePdf):
    """A file encrypted in a way that cannot be read here, which is all there is to say of it."""


class Drawing(NamedTuple):
    """What a page paints; what in its content makes no sense, and how often; what stopped the reading, or
    empty.
    """

    paints: tuple[Paint, ...]
    problems: Mapping[str, int]
    broken: str


@dataclass(frozen=True, slots=True)
class PdfPage:
    """A page: its number from 1, its dictionary, its boxes in pt and its resources.

    `trim` and `bleed` fall back as PDF has it (ISO 32000-1, 14.11.2): bleed and trim to the crop, the crop to
    the media. `flaw` says what is wrong with them where a box cannot be read. `walk` finds all the page paints,
    `list_things` all dictionaries and streams below it, and `unpack` the bytes of its content, each once and only
    where a rule asks.
    """

    number: int
    page: PageObject
    media: Rectangle
    crop: Rectangle
    bleed: Rectangle
    trim: Rectangle
    flaw: str
    walk: _lru_cache_wrapper[Drawing]
    list_things: _lru_cache_wrapper[tuple[Held, ...]]
    unpack: _lru_cache_wrapper[bytes]

    @property
    def paints(self) -> tuple[Paint, ...]:
        """All the page paints, in order. UnreadablePdf where its content cannot be read to the end."""
        if broken := self.walk().broken:
            raise UnreadablePdf(f"page {self.number} cannot be read: {broken}")
        return self.walk().paints

    @property
    def drawn(self) -> tuple[Paint, ...]:
        """The same, but as far as can be read."""
        return self.walk().paints

    @property
    def things(self) -> tuple[Held, ...]:
        """Every dictionary and stream below the page, itself first."""
        return self.list_things()

    @property
    def resources(self) -> Iterator[DictionaryObject]:
        """Every resource dictionary below the page."""
        return (held.thing for held in self.things if held.is_resources)

    @property
    def fonts(self) -> Iterator[DictionaryObject]:
        """Every font that is listed or set below the page."""
        return (held.thing for held in self.things if held.is_font)

    def forget(self) -> None:
        """Keep nothing that was found any longer; it is found anew should it be asked for again."""
        self.walk.cache_clear()
        self.list_things.cache_clear()
        self.unpack.cache_clear()


@dataclass(frozen=True, slots=True)
class PdfDocument:
    """A PDF, read by `reader`. `version` is as (1, 4); `damage` what had to be mended to read it, or empty."""

    reader: PdfReader
    version: tuple[int, int]
    info: Mapping[str, Any]
    root: DictionaryObject
    trailer: DictionaryObject
    xmp: bytes
    encrypted: bool
    damage: str
    endings: int
    sheets: tuple[PdfPage, ...]
    faces: EmbeddedFonts
    objects: Objects
    pictures: Pictures
    font_files: FontFiles

    def read_fonts(self) -> None:
        """Read every font that pages list, so that processes forked from this one need not do it again."""
        for sheet in self.sheets:
            with suppress(Exception):       # what is broken is met again, and told of, where it is used
                for _, font in entries(look(sheet.page, "/Resources"), "/Font"):
                    with suppress(Exception):
                        self.faces.of(font)

    @property
    def compressed(self) -> bool:
        """Whether objects, or the table of where they lie, are kept in streams (ISO 32000-1, 7.5.7 and 7.5.8)."""
        in_a_stream = look(self.trailer, "/Type") == "/XRef" or "/XRefStm" in self.trailer
        return in_a_stream or bool(self.reader.xref_objStm)

    @property
    def claims(self) -> tuple[str, ...]:
        """The PDF/X versions the file says it is, in its information and its XMP."""
        said = [str(self.info["/GTS_PDFXVersion"])] if "/GTS_PDFXVersion" in self.info else []
        said += [(inside or quoted).decode("latin-1").strip() for inside, quoted in _CLAIM.findall(self.xmp)]
        return tuple(dict.fromkeys(said))

    @property
    def standard(self) -> Standard:
        """What the file is held to: PDF/X-4 where it claims that, PDF/X-1a:2003 otherwise."""
        return Standard.X4 if Standard.X4.claim in self.claims else Standard.X1A


def read_document(data: bytes, chars: Chars = read_chars) -> PdfDocument:
    """A PDF's bytes as a Document; `chars` tells what a font's codes say. UnreadablePdf where that cannot be."""
    if b"%PDF-" not in data[:1024]:
        raise UnreadablePdf("this is not a PDF: it does not begin with %PDF-")
    try:
        return _read(data, chars)
    except UnreadablePdf:
        raise
    except DependencyError as error:
        raise EncryptedPdf("the PDF is encrypted, which a press refuses, and in a way (AES) that cannot be read "
                            "here: save it without encryption") from error
    except Exception as error:  # a broken file can trip pypdf anywhere, by any error
        raise UnreadablePdf(f"the PDF is broken: {_said(error)}") from error


def in_short(error: Exception, most: int = 120) -> str:
    """An error in one line of at most so many characters."""
    return " ".join(str(error).split())[:most] or type(error).__name__


def _said(error: Exception) -> str:
    """The same, with a mark where it was cut."""
    text = in_short(error, 161)
    return text[:160] + "…" if len(text) > 160 else text


def _read(data: bytes, chars: Chars) -> PdfDocument:
    reader, damage = _opened(data)
    encrypted = reader.is_encrypted
    if encrypted and not reader.decrypt(""):
        raise UnreadablePdf("the PDF is locked: it needs a password to be read")
    root = reader.root_object
    if not reader.pages:
        raise UnreadablePdf("the PDF has no pages")
    faces, layers, budget, objects = EmbeddedFonts(chars), Layers(root), FileBudget(len(data)), Objects()
    sheets = tuple(_sheet(number, page, faces, layers, budget, objects)
                   for number, page in enumerate(reader.pages, 1))
    metadata = look(root, "/Metadata")
    info = reader.metadata or DictionaryObject()
    return PdfDocument(
        reader, _version(data, root), {key: info[key] for key in info}, root, reader.trailer,
        metadata.get_data() if isinstance(metadata, StreamObject) else b"",
        encrypted, damage, 1 if b"/Linearized" in data[:2048] else data.count(b"%%EOF"), sheets, faces,
        objects, Pictures(budget), FontFiles(),
    )


def _opened(data: bytes) -> tuple[PdfReader, str]:
    """A reader, and what a strict one complained of."""
    try:
        reader = Reader(data, strict=True)
        if not reader.is_encrypted:
            len(reader.pages)
    except Exception as error:
        return Reader(data), _said(error)
    return reader, ""


def _version(data: bytes, root: DictionaryObject) -> tuple[int, int]:
    """The later of header and catalogue (ISO 32000-1, 7.5.2)."""
    catalogue = str(look(root, "/Version", "")).encode()
    said = (re.search(rb"%PDF-(\d)\.(\d)", data[:1024]), re.match(rb"/(\d)\.(\d)", catalogue))
    return max(((int(one[1]), int(one[2])) for one in said if one), default=(1, 0))


_FALLBACK = Rectangle(0.0, 0.0, 612.0, 792.0)
"""What stands for a page's box where it has none that can be read."""


def _sheet(
    number: int, page: PageObject, faces: EmbeddedFonts, layers: Layers, budget: FileBudget, objects: Objects,
) -> PdfPage:
    # pypdf's own look at a box writes the fallback into the page, as if it had stood there.
    flaws: list[str] = []
    media = _box(page, "/MediaBox", _FALLBACK, flaws)
    if "/MediaBox" not in page:
        flaws.append("the page has no MediaBox")
    crop = _box(page, "/CropBox", media, flaws)
    bleed, trim = (_box(page, name, crop, flaws) for name in ("/BleedBox", "/TrimBox"))
    return PdfPage(number, page, media, crop, bleed, trim, "; ".join(flaws),
                   cache(partial(_drawing, page, media, faces, layers, budget)),
                   cache(partial(objects.below, page)), cache(partial(_content, page)))


def _content(page: PageObject) -> bytes:
    """The bytes of a page's content; none where it has no content."""
    content = page.get_contents()
    return b"" if content is None else content.get_data()


def _drawing(
    page: PageObject, media: Rectangle, faces: EmbeddedFonts, layers: Layers, budget: FileBudget,
) -> Drawing:
    walk, broken = Walk(page.pdf, faces, layers, PageBudget(budget)), ""
    try:
        walk_page(page, media, walk)
    except Exception as error:  # as for the file: any error a broken stream can bring about
        broken = _said(error)
    return Drawing(tuple(walk.found), walk.problems, broken)


def _box(page: PageObject, name: str, otherwise: Rectangle, flaws: list[str]) -> Rectangle:
    try:
        edges = look(page, name)
        return otherwise if edges is None else read_box(edges)
    except Exception:
        flaws.append(f"the {name[1:]} is no box")
        return otherwise


def read_box(edges: Any) -> Rectangle:
    """A PDF rectangle, whichever corners it names."""
    left, low, right, top = numbers(edges)
    return box_round(((left, low), (right, top)))


def font_descriptor(font: DictionaryObject) -> DictionaryObject:
    """A font's descriptor, or that of the font below a composite one; empty where there is none."""
    below = (each(look(font, "/DescendantFonts")) or [None])[0] if look(font, "/Subtype") == "/Type0" else font
    descriptor = look(below, "/FontDescriptor")
    return descriptor if isinstance(descriptor, DictionaryObject) else DictionaryObject()


def is_embedded(font: DictionaryObject) -> bool:
    """Whether a font's shapes lie in the file; a Type 3 font's always do."""
    descriptor = font_descriptor(font)
    return look(font, "/Subtype") == "/Type3" or any(
        key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
