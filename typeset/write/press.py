"""The second pass: a book's PDF to the file a press takes, PDF/X-1a:2003 (ISO 15930-4) or PDF/X-4 (ISO 15930-7).

What is drawn is left alone; keys, boxes and marks of identity are set, and what a press file may not hold is
taken out. The bytes depend on the input and the `PressSpec` alone.

The ISO texts were not read: the keys follow secondary sources (the PDFlib tutorial's PDF/X tables, Kodak's
and Enfocus's help pages, PDF Reference 1.7 table 10.51), each named at the preflight rule that checks it.
"""

from __future__ import annotations

import hashlib
import io
import uuid
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from xml.sax.saxutils import escape

from pypdf import PageObject, PdfWriter
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    StreamObject,
    TextStringObject,
)

from cagework.typeset.book import Standard
from cagework.typeset.choices import Stock
from cagework.typeset.marks import MM
from cagework.typeset.reader.icc import profile_words
from cagework.typeset.reader.keys import outline_entries
from cagework.typeset.reader.parsing import Reader
from cagework.typeset.trade.printing_condition import CONDITIONS, REGISTRY, UNREGISTERED, Condition, profile_inks
from cagework.typeset.trade.registered_conditions import condition_of
from cagework.typeset.write.pdf import pdf_date

_SLACK = 0.05
"""Points by which a page may miss its size: what rounding in a PDF's numbers comes to."""

_NAMESPACE = uuid.UUID("7d1cfe7a-5d0e-5a86-9a52-6a43cbd3b1f4")
"""Under which document ids are made from a file's content; drawn once at random."""


class PressError(ValueError):
    """A press file cannot be made of this. The text is for the editor."""


@dataclass(frozen=True, slots=True)
class PressSpec:
    """What the press file is to be. The dates are zoned and come from the caller, never from the clock.

    `icc` is the printing profile's file, for PDF/X-4 only, and `condition` the registered name of what it was made
    for; without one it is what the profile itself says. With `trim_mm` (width, height) the trim lies in the
    middle of each page and `bleed_mm` runs round it; without it, each page's own TrimBox and BleedBox stay.
    """

    title: str
    created: datetime
    modified: datetime
    standard: Standard = Standard.X1A
    stock: Stock = Stock.UNCOATED
    icc: Path | None = None
    condition: str | None = field(default=None, repr=False)
    trim_mm: tuple[float, float] | None = None
    bleed_mm: float = 0.0


def press_bytes(pdf: bytes, spec: PressSpec) -> bytes:
    """The press file made of a finished book's PDF: bookmarks stay, links and every other annotation go.

    Raises PressError where the spec contradicts itself, the profile is none for printing, a page has no room
    for the bleed, a bookmark carries an action, or the bytes are no PDF.
    """
    profile = _checked(spec)
    writer = _opened(pdf)
    root = writer.root_object
    for key in ("/AcroForm", "/AA", "/JavaScript", "/MarkInfo", "/Metadata", "/Names", "/OpenAction",
                "/StructTreeRoot", "/URI", "/ViewerPreferences"):
        root.pop(NameObject(key), None)
    for number, page in enumerate(writer.pages, 1):
        for key in ("/Annots", "/AA", "/StructParents", "/Tabs", "/Trans"):
            page.pop(NameObject(key), None)
        _set_boxes(page, number, spec)
    _untell(writer)
    _hold_to_places(root)
    asked = repr(replace(spec, icc=None))  # the profile counts by its bytes, not by where it lies
    digest = hashlib.sha256(pdf + asked.encode() + profile + (spec.condition or "").encode()).digest()
    writer.pdf_header = "%PDF-1.4" if spec.standard is Standard.X1A else "%PDF-1.6"
    _set_info(writer, spec)
    root[NameObject("/OutputIntents")] = ArrayObject([writer._add_object(_intent(writer, spec, profile))])
    if spec.standard is Standard.X4:
        root[NameObject("/Metadata")] = writer._add_object(_metadata(spec, digest, _producer(writer)))
    writer._ID = ArrayObject([ByteStringObject(digest[:16]), ByteStringObject(digest[:16])])
    writer.compress_identical_objects(remove_duplicates=False, remove_unreferenced=True)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _checked(spec: PressSpec) -> bytes:
    """The profile's bytes, empty where there is none, once the spec is known to hold together."""
    if not spec.title.strip():
        raise PressError("a press file needs a title")
    if spec.created.tzinfo is None or spec.modified.tzinfo is None:
        raise PressError("a press file's dates need a time zone")
    if spec.bleed_mm < 0:
        raise PressError(f"a bleed of {spec.bleed_mm:g} mm is less than none")
    if spec.bleed_mm and spec.trim_mm is None:
        raise PressError("a bleed needs the trim it runs round")
    if spec.standard is Standard.X1A:
        if spec.icc is not None:
            raise PressError("PDF/X-1a names its printing condition; a profile is for PDF/X-4 only")
        return b""
    if spec.icc is None:
        raise PressError("PDF/X-4 needs the printer's ICC profile; without one, make PDF/X-1a:2003")
    try:
        profile = spec.icc.read_bytes()
    except OSError as error:
        raise PressError(f"the profile {spec.icc} cannot be read: {error.strerror}") from error
    try:
        profile_inks(profile)
    except ValueError as error:
        raise PressError(f"{spec.icc}: {error}") from error
    return profile


def _opened(pdf: bytes) -> PdfWriter:
    try:
        return PdfWriter(clone_from=Reader(pdf))
    except Exception as error:  # whatever pypdf stumbles over in bytes that are no PDF
        raise PressError(f"the pages are not a PDF that can be read: {error}") from error


def _set_boxes(page: PageObject, number: int, spec: PressSpec) -> None:
    """Trim inside bleed inside media; the trim in the middle, so that marks round it are even on all sides."""
    if spec.trim_mm is None:
        return
    media = tuple(float(edge) for edge in page.mediabox)
    across = (media[2] - media[0] - spec.trim_mm[0] * MM) / 2
    down = (media[3] - media[1] - spec.trim_mm[1] * MM) / 2
    bleed = spec.bleed_mm * MM
    if min(across, down) < bleed - _SLACK:
        raise PressError(
            f"page {number} is {(media[2] - media[0]) / MM:.1f} x {(media[3] - media[1]) / MM:.1f} mm: too small "
            f"for a trim of {spec.trim_mm[0]:g} x {spec.trim_mm[1]:g} mm with {spec.bleed_mm:g} mm of bleed"
        )
    trim = (media[0] + across, media[1] + down, media[2] - across, media[3] - down)
    grown = (trim[0] - bleed, trim[1] - bleed, trim[2] + bleed, trim[3] + bleed)
    page.pop(NameObject("/ArtBox"), None)
    page.pop(NameObject("/CropBox"), None)
    page[NameObject("/TrimBox")] = _box(trim, media)
    page[NameObject("/BleedBox")] = _box(grown, media)


def _box(edges: tuple[float, ...], media: tuple[float, ...]) -> ArrayObject:
    """A box held inside the media, so that rounding never puts an edge a hair outside."""
    kept = (max(edges[0], media[0]), max(edges[1], media[1]), min(edges[2], media[2]), min(edges[3], media[3]))
    return ArrayObject([FloatObject(round(edge, 4)) for edge in kept])


def _untell(writer: PdfWriter) -> None:
    """Empty what was there for screen readers: its elements hold on to each other, and to the links."""
    for thing in writer._objects:
        if isinstance(thing, DictionaryObject) and thing.get("/Type") in ("/StructElem", "/StructTreeRoot"):
            thing.clear()


def _hold_to_places(root: DictionaryObject) -> None:
    """Refuse bookmarks that would run an action: only a place to go to may be named."""
    for entry in outline_entries(root):
        if "/A" in entry:
            raise PressError(f"the bookmark '{entry.get('/Title', '')}' carries an action, which a press file "
                             "may not")


def _producer(writer: PdfWriter) -> str:
    said = writer.metadata
    return str(said["/Producer"]) if said and "/Producer" in said else "cagework"


def _set_info(writer: PdfWriter, spec: PressSpec) -> None:
    """The document information PDF/X asks for; what else the book says of itself stays."""
    kept = {key: value for key, value in (writer.metadata or {}).items()
            if key in ("/Author", "/Subject", "/Keywords", "/Creator", "/Producer") and isinstance(value, str)}
    writer.metadata = None
    writer.add_metadata({
        **kept, "/Title": spec.title,
        "/CreationDate": pdf_date(spec.created), "/ModDate": pdf_date(spec.modified),
    })
    assert writer._info_obj is not None, "metadata were just added"
    info = writer._info_obj.get_object()
    assert isinstance(info, DictionaryObject)
    info[NameObject("/Trapped")] = NameObject("/False")
    if spec.standard is Standard.X1A:
        info[NameObject("/GTS_PDFXVersion")] = TextStringObject(spec.standard.claim)


def _intent(writer: PdfWriter, spec: PressSpec, profile: bytes) -> DictionaryObject:
    """The output intent (PDF Reference 1.7, table 10.51); a profile only where one was given."""
    condition = _profiled(spec, profile) if profile else CONDITIONS[spec.stock]
    intent = DictionaryObject({
        NameObject("/Type"): NameObject("/OutputIntent"),
        NameObject("/S"): NameObject("/GTS_PDFX"),
        NameObject("/OutputConditionIdentifier"): TextStringObject(condition.name),
        NameObject("/OutputCondition"): TextStringObject(condition.info),
        NameObject("/Info"): TextStringObject(condition.info),
    })
    if condition.name != UNREGISTERED:
        intent[NameObject("/RegistryName")] = TextStringObject(REGISTRY)
    if profile:
        plain = DecodedStreamObject()
        plain.set_data(profile)
        stream = plain.flate_encode()
        stream[NameObject("/N")] = NumberObject(profile_inks(profile))
        intent[NameObject("/DestOutputProfile")] = writer._add_object(stream)
    return intent


def _profiled(spec: PressSpec, profile: bytes) -> Condition:
    """What a profile was made for: as the editor names it, as the profile does, or a condition of its own."""
    words = profile_words(profile)
    said = " ".join(words.split())[:200] or "as the embedded profile has it"
    return Condition(spec.condition or condition_of(words).upper() or UNREGISTERED, said)


def _metadata(spec: PressSpec, digest: bytes, producer: str) -> StreamObject:
    """The XMP packet, uncompressed so that any program can find it."""
    ident = uuid.uuid5(_NAMESPACE, digest.hex())
    said = {
        "pdfxid:GTS_PDFXVersion": spec.standard.claim,
        "xmp:CreateDate": spec.created.isoformat(timespec="seconds"),
        "xmp:ModifyDate": spec.modified.isoformat(timespec="seconds"),
        "xmp:MetadataDate": spec.modified.isoformat(timespec="seconds"),
        "xmp:CreatorTool": "cagework",
        "pdf:Producer": producer,
        "pdf:Trapped": "False",
        "xmpMM:DocumentID": f"uuid:{ident}",
        "xmpMM:InstanceID": f"uuid:{uuid.uuid5(ident, 'instance')}",
        "xmpMM:VersionID": "1",
        "xmpMM:RenditionClass": "default",
    }
    fields = "\n".join(f"   <{name}>{escape(value)}</{name}>" for name, value in said.items())
    stream = DecodedStreamObject()
    stream.set_data(_PACKET.format(title=escape(spec.title), fields=fields).encode())
    stream[NameObject("/Type")] = NameObject("/Metadata")
    stream[NameObject("/Subtype")] = NameObject("/XML")
    return stream


_PACKET = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about=""
    xmlns:dc="http://purl.org/dc/elements/1.1/"
    xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
    xmlns:pdfxid="http://www.npes.org/pdfx/ns/id/"
    xmlns:xmp="http://ns.adobe.com/xap/1.0/"
    xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/">
   <dc:format>application/pdf</dc:format>
   <dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
{fields}
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""
