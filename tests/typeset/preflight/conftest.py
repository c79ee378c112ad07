"""Small PDFs written object by object: a sound file of one page, and one edit of it."""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Callable, Mapping
from typing import Any

import font_source_sans_pro
import pikepdf
import pypdf
import pytest
from fontTools import subset
from fontTools.ttLib import TTFont

from cagework.typeset.preflight.profile import Profile

MM = 72 / 25.4
TRIM = (148.0, 210.0)
LEFT = LOW = 40.0
BOXES = {
    "MediaBox": f"[0 0 {LEFT * 2 + TRIM[0] * MM:.3f} {LOW * 2 + TRIM[1] * MM:.3f}]",
    "TrimBox": f"[{LEFT} {LOW} {LEFT + TRIM[0] * MM:.3f} {LOW + TRIM[1] * MM:.3f}]",
    "BleedBox": f"[{LEFT - 9} {LOW - 9} {LEFT + 9 + TRIM[0] * MM:.3f} {LOW + 9 + TRIM[1] * MM:.3f}]",
}
XMP = """<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF
xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=""
xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
xmlns:pdf="http://ns.adobe.com/pdf/1.3/" xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/"
xmlns:pdfxid="http://www.npes.org/pdfx/ns/id/"><dc:title><rdf:Alt>
<rdf:li xml:lang="x-default">Lamps</rdf:li></rdf:Alt>
</dc:title><xmp:CreateDate>2026-03-01T12:30:00Z</xmp:CreateDate><xmp:ModifyDate>2026-03-01T12:30:00Z</xmp:ModifyDate>
<xmp:MetadataDate>2026-03-01T12:30:00Z</xmp:MetadataDate><xmp:CreatorTool>hand</xmp:CreatorTool>
<pdf:Trapped>False</pdf:Trapped><xmpMM:DocumentID>uuid:1</xmpMM:DocumentID><xmpMM:InstanceID>uuid:2</xmpMM:InstanceID>
<xmpMM:VersionID>1</xmpMM:VersionID><xmpMM:RenditionClass>default</xmpMM:RenditionClass>
<pdfxid:GTS_PDFXVersion>PDF/X-4</pdfxid:GTS_PDFXVersion></rdf:Description></rdf:RDF>
</x:xmpmeta><?xpacket end="w"?>"""

Spec = Mapping[str, Any]


def _font() -> bytes:
    """A few letters of a face, as a TrueType font."""
    from importlib.resources import files

    font = TTFont(io.BytesIO((files(font_source_sans_pro) / "files" / "SourceSansPro-Regular.ttf").read_bytes()))
    options = subset.Options(drop_tables=["GSUB", "GPOS", "GDEF", "DSIG"], notdef_outline=True)
    small = subset.Subsetter(options)
    small.populate(text="abc")
    small.subset(font)
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def profile_icc(description: bytes = b"", space: bytes = b"CMYK", kind: bytes = b"prtr") -> bytes:
    """An ICC profile of a header and a description (ICC.1:2001, 6.5.17)."""
    tag = b"desc" + bytes(4) + len(description).to_bytes(4) + description
    body = (1).to_bytes(4) + b"desc" + (144).to_bytes(4) + len(tag).to_bytes(4) + tag
    head = b"test" + bytes.fromhex("02400000") + kind + space + b"Lab " + bytes(12) + b"acsp" + bytes(88)
    return (4 + len(head) + len(body)).to_bytes(4) + head + body


def stream(keys: str, data: bytes | str) -> tuple[str, bytes]:
    """A stream's keys and its data."""
    return keys, data.encode("latin-1") if isinstance(data, str) else data


class Writer:
    """Objects by name, and the file they make. `@name` in a text is a reference."""

    def __init__(self, font: bytes, x4: bool) -> None:
        self.version = "1.6" if x4 else "1.4"
        claim = "" if x4 else "/GTS_PDFXVersion (PDF/X-1a:2003)"
        self.resources: dict[str, str] = {"Font": "/F1 @font"}
        self.draw = "0 g 0 G BT /F1 12 Tf 100 500 Td (abc) Tj ET 1 w 100 480 m 300 480 l S"
        self.page: dict[str, str] = {"Type": "/Page", "Parent": "@pages", "Contents": "@content", **BOXES}
        self.root: dict[str, str] = {"Type": "/Catalog", "Pages": "@pages", "OutputIntents": "[@intent]"}
        self.info: dict[str, str] = {
            "Title": "(Lamps)",
            "CreationDate": "(D:20260301123000Z)",
            "Creator": "(hand)",
            "ModDate": "(D:20260301123000Z)",
            "Trapped": "/False",
        }
        if claim:
            self.info["GTS_PDFXVersion"] = "(PDF/X-1a:2003)"
        self.intent: dict[str, str] = {
            "Type": "/OutputIntent",
            "S": "/GTS_PDFX",
            "Info": "(Uncoated)",
            "OutputConditionIdentifier": "(FOGRA52)",
            "RegistryName": "(http://www.color.org)",
        }
        self.trailer: dict[str, str] = {"Root": "@root", "Info": "@info", "ID": "[<0102> <0102>]"}
        self.objects: dict[str, str | tuple[str, bytes]] = {
            "pages": "<< /Type /Pages /Kids [@page] /Count 1 >>",
            "font": "<< /Type /Font /Subtype /TrueType /BaseFont /ABCDEF+Sans /FirstChar 97 /LastChar 99 "
            "/Widths [504 553 456] /FontDescriptor @descriptor /Encoding /WinAnsiEncoding >>",
            "descriptor": "<< /Type /FontDescriptor /FontName /ABCDEF+Sans /Flags 32 /FontBBox [0 -200 1000 900] "
            "/ItalicAngle 0 /Ascent 900 /Descent -200 /CapHeight 660 /StemV 80 /FontFile2 @file >>",
            "file": stream(f"/Length1 {len(font)}", font),
        }
        if x4:
            self.root["Metadata"] = "@xmp"
            self.objects["xmp"] = stream("/Type /Metadata /Subtype /XML", XMP)
            self.objects["icc"] = stream("/N 4", profile_icc(b"made from FOGRA52\0"))
            self.intent["DestOutputProfile"] = "@icc"

    def bytes(self) -> bytes:
        """The file."""
        resources = " ".join(f"/{kind} << {listed} >>" for kind, listed in self.resources.items())
        self.page.setdefault("Resources", f"<< {resources} >>")
        self.objects["content"] = stream("", self.draw)
        for name in ("page", "root", "info", "intent"):
            self.objects[name] = _dictionary(getattr(self, name))
        numbers = {name: number for number, name in enumerate(self.objects, 1)}

        def linked(text: str) -> bytes:
            return re.sub(r"@(\w+)", lambda found: f"{numbers[found[1]]} 0 R", text).encode("latin-1")

        out = bytearray(f"%PDF-{self.version}\n%\xe2\xe3\xcf\xd3\n".encode("latin-1"))
        places = []
        for name, body in self.objects.items():
            places.append(len(out))
            out += b"%d 0 obj\n" % numbers[name]
            if isinstance(body, str):
                out += linked(body)
            else:
                out += b"<< " + linked(body[0]) + b" /Length %d >>\nstream\n" % len(body[1]) + body[1]
                out += b"\nendstream"
            out += b"\nendobj\n"
        start = len(out)
        out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
        out += b"".join(b"%010d 00000 n \n" % place for place in places)
        trailer = _dictionary({**self.trailer, "Size": str(len(places) + 1)})
        return bytes(out + b"trailer\n" + linked(trailer) + b"\nstartxref\n%d\n%%%%EOF\n" % start)


def _dictionary(keys: Mapping[str, str]) -> str:
    return "<< " + " ".join(f"/{key} {value}" for key, value in keys.items()) + " >>"


def _split(resources: str) -> list[tuple[str, str]]:
    """A resource dictionary's kinds, and what each lists."""
    found, depth, start = [], 0, 0
    for bracket in re.finditer("<<|>>", resources):
        depth += 1 if bracket[0] == "<<" else -1
        if depth == 1 and bracket[0] == "<<":
            kind, start = resources[start : bracket.start()].strip(" /"), bracket.end()
        elif depth == 0:
            found.append((kind, resources[start : bracket.start()]))
            start = bracket.end()
    return found


BOX = "/BBox [0 0 400 400]"


def _within(writer: Writer, where: str, code: str, resources: str) -> None:
    """Put some drawing into a form, a pattern, a glyph, a mask or an appearance, and that onto the page."""
    keys = f"/Resources << {resources} >>" if resources else "/Resources << >>"
    form = f"/Type /XObject /Subtype /Form {BOX} {keys}"

    def place(kind: str, listed: str, draw: str) -> None:
        writer.resources[kind] = writer.resources.get(kind, "") + f" {listed}"
        writer.draw += f" q {draw} Q"

    match where:
        case "page":
            writer.draw += f" q 1 0 0 1 120 150 cm {code} Q"
            for kind, listed in _split(resources):
                writer.resources[kind] = writer.resources.get(kind, "") + f" {listed}"
        case "form":
            writer.objects["form"] = stream(form, code)
            place("XObject", "/Fm @form", "1 0 0 1 120 150 cm /Fm Do")
        case "form in a form":
            writer.objects["form"] = stream(form, code)
            writer.objects["outer"] = stream(
                f"/Subtype /Form {BOX} /Resources << /XObject << /In @form >> >>", "/In Do"
            )
            place("XObject", "/Fm @outer", "1 0 0 1 120 150 cm /Fm Do")
        case "pattern":
            writer.objects["tile"] = stream(
                f"/PatternType 1 /PaintType 1 /TilingType 1 {BOX} /XStep 400 /YStep 400 {keys}", code
            )
            place("Pattern", "/Ti @tile", "/Pattern cs /Ti scn 120 150 100 100 re f")
        case "glyph":
            writer.objects["glyph"] = stream("", f"100 0 d0 {code}")
            writer.objects["drawn"] = (
                "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 100 100] /FontMatrix [0.01 0 0 0.01 0 0] "
                f"/CharProcs << /a @glyph >> /Encoding << /Differences [97 /a] >> /FirstChar 97 /LastChar 97 "
                f"/Widths [100] {keys} >>"
            )
            place("Font", "/T3 @drawn", "BT /T3 100 Tf 120 150 Td (a) Tj ET")
        case "mask":
            writer.objects["group"] = stream(f"{form} /Group << /S /Transparency /CS /DeviceGray >>", code)
            place(
                "ExtGState", "/Gm << /SMask << /S /Luminosity /G @group >> >>", "/Gm gs 0 g 120 150 100 100 re f"
            )
        case "annotation":
            writer.objects["appearance"] = stream(form, code)
            writer.page["Annots"] = (
                "[<< /Type /Annot /Subtype /Square /Rect [120 150 320 350] /F 4 /AP << /N @appearance >> >>]"
            )
        case "outside annotation":
            writer.objects["appearance"] = stream(form, code)
            writer.page["Annots"] = (
                "[<< /Type /Annot /Subtype /PrinterMark /Rect [0 0 20 20] /AP << /N @appearance >> >>]"
            )
        case _:
            raise ValueError(where)


@pytest.fixture(scope="session")
def made() -> Callable[..., bytes]:
    """A spec to a file. Its keys: `at` (where `code` is drawn, with `res`), `obj` (more objects), `page`, `root`,
    `info`, `intent`, `trailer` (keys set, or dropped where None), `list` (more resources of the page), `x4`,
    `version`, `end` (more of the page's drawing), `swap` (bytes for other bytes), `by` (who writes it again).
    """
    font = _font()

    def make(spec: Spec, by: str = "hand") -> bytes:
        writer = Writer(font, bool(spec.get("x4")))
        for name, body in spec.get("obj", {}).items():
            writer.objects[name] = body if isinstance(body, str) else stream(*body)
        for kind, listed in spec.get("list", {}).items():
            writer.resources[kind] = writer.resources.get(kind, "") + f" {listed}"
        if "code" in spec:
            _within(writer, spec.get("at", "page"), spec["code"], spec.get("res", ""))
        writer.draw += spec.get("end", "")
        for part in ("page", "root", "info", "intent", "trailer"):
            for key, value in spec.get(part, {}).items():
                getattr(writer, part).pop(key, None)
                if value is not None:
                    getattr(writer, part)[key] = value
        writer.version = spec.get("version", writer.version)
        data = writer.bytes()
        for old, new in spec.get("swap", ()):
            assert old in data
            data = data.replace(old, new)
        return data if by == "hand" else AGAIN[by](data, writer.version)

    return make


def _by_qpdf(data: bytes, version: str) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        pdf.save(
            out,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
            force_version=version,
            stream_decode_level=pikepdf.StreamDecodeLevel.none,
            compress_streams=False,
        )
    return out.getvalue()


def _by_pypdf(data: bytes, version: str) -> bytes:
    writer = pypdf.PdfWriter(clone_from=pypdf.PdfReader(io.BytesIO(data)))
    writer.pdf_header = f"%PDF-{version}"
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


AGAIN: Mapping[str, Callable[[bytes, str], bytes]] = {"qpdf": _by_qpdf, "pypdf": _by_pypdf}


@pytest.fixture(scope="session")
def flate() -> Callable[[bytes], bytes]:
    """Pack some bytes."""
    return zlib.compress


@pytest.fixture(scope="session")
def icc() -> Callable[..., bytes]:
    """Make a profile's bytes."""
    return profile_icc


@pytest.fixture(scope="session")
def held_to() -> Profile:
    """What the files are held to."""
    return Profile(trim_mm=TRIM, gutter_mm=12.0)
