"""Files with one defect in how they are built, each beside the nearest file without it."""

from __future__ import annotations

import io
import zlib
from collections.abc import Callable, Mapping
from typing import Any

import pikepdf
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.ttLib import TTFont
from PIL import Image

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import preflight

Spec = Mapping[str, Any]
ROWS: list[tuple[str, str, Spec]] = []
SOUND: list[tuple[str, Spec]] = []
RECT = "0 0 50 50 re f"
LZW = bytes.fromhex("800B6050220C0C8501")
"""ISO 32000-1, 7.4.4.2: the standard's own example of LZW."""


def row(rule: str, name: str, spec: Spec, near: Spec | None = None) -> None:
    ROWS.append((rule, name, spec))
    if near is not None:
        SOUND.append((f"{rule}: not {name}", near))


def jpeg(mode: str) -> bytes:
    out = io.BytesIO()
    Image.new(mode, (100, 100), {"L": 128, "RGB": (9, 9, 9), "CMYK": (90, 90, 90, 0)}[mode]).save(out, "JPEG")
    return out.getvalue()


def jpx(colours: int) -> bytes:
    out = io.BytesIO()
    Image.new({1: "L", 3: "RGB"}[colours], (100, 100), 99).save(out, "JPEG2000")
    return out.getvalue()


def pictured(keys: str, data: bytes, **more: Any) -> Spec:
    return {"code": "20 0 0 20 20 20 cm /Im Do", "res": "/XObject << /Im @im >>",
        "obj": {"im": (f"/Subtype /Image /Width 100 /Height 100 /BitsPerComponent 8 {keys}", data)}} | more


GRAY = pictured("/ColorSpace /DeviceGray /Filter /FlateDecode", zlib.compress(bytes(10000)))


# Where a font may be met, and what may be wrong with it.
FONT = ("<< /Type /Font /Subtype /TrueType /BaseFont /ABCDEG+Other /FirstChar 97 /LastChar 97 /Widths [500] "
    "/Encoding /WinAnsiEncoding /FontDescriptor @d2 >>")
DESCRIPTOR = ("<< /Type /FontDescriptor /FontName /ABCDEG+Other /Flags 32 /FontBBox [0 0 1 1] /ItalicAngle 0 "
    "/Ascent 9 /Descent 0 /CapHeight 6 /StemV 8 {} >>")


def compact_font(*, bare: bool) -> bytes:
    """A font of one square in compact shapes (CFF), by fontTools: by itself, or the OpenType font it lies in."""
    pen = T2CharStringPen(500, None)
    for number, point in enumerate(((0, 0), (0, 400), (400, 400), (400, 0))):
        (pen.lineTo if number else pen.moveTo)(point)
    pen.closePath()
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", "a"])
    builder.setupCharacterMap({97: "a"})
    square = pen.getCharString()
    builder.setupCFF("Other", {}, {".notdef": square, "a": square}, {})
    builder.setupHorizontalMetrics({".notdef": (500, 0), "a": (500, 0)})
    builder.setupHorizontalHeader()
    builder.setupPost()
    out = io.BytesIO()
    builder.save(out)
    return bytes(TTFont(out).reader["CFF "]) if bare else out.getvalue()


FORM = "/Type /XObject /Subtype /Form /BBox [0 0 99 99]"
FONT_PLACES: Mapping[str, Spec] = {
    "the page": {"list": {"Font": "/F2 @f2"}},
    "a form": {"list": {"XObject": "/Fx @fx"}, "obj": {"fx": (f"{FORM} /Resources << /Font << /F2 @f2 >> >>",
        "")}},
    "a graphics state": {"list": {"ExtGState": "/Gf << /Font [@f2 12] >>"}},
    "a pattern": {"list": {"Pattern": "/Pf @pf"},
        "obj": {"pf": ("/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 /Resources "
        "<< /Font << /F2 @f2 >> >>", "")}},
    "a soft mask": {"x4": True, "list": {"ExtGState": "/Gm << /SMask << /S /Alpha /G @fx >> >>"},
        "obj": {"fx": (f"{FORM} /Group << /S /Transparency >> /Resources << /Font << /F2 @f2 >> >>", "")}},
    "a drawn font": {"list": {"Font": "/T3 @t3"},
        "obj": {"t3": "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [0.1 0 0 0.1 0 0] "
        "/CharProcs << >> /Encoding << /Differences [] >> /FirstChar 0 /LastChar 0 /Widths [0] /Resources << "
        "/Font << /F2 @f2 >> >> >>"}},
    "an appearance": {"page": {"Annots": "[<< /Subtype /PrinterMark /Rect [0 0 9 9] /AP << /N @fx >> >>]"},
        "obj": {"fx": (f"{FORM} /Resources << /Font << /F2 @f2 >> >>", "")}},
}
WRONG = {
    "is not embedded": {"d2": DESCRIPTOR.format("")},
    "has an empty file": {"d2": DESCRIPTOR.format("/FontFile2 @file2"), "file2": ("", b"")},
    "has garbage for a file": {"d2": DESCRIPTOR.format("/FontFile2 @file2"), "file2": ("", b"garbage " * 40)},
    "has a file of no compact font": {"d2": DESCRIPTOR.format("/FontFile3 @file2"), "file2": ("/Subtype /Type1C",
        b"\1\0\4\1garbage" * 9)},
    "has a file of no Type 1": {"d2": DESCRIPTOR.format("/FontFile @file2"), "file2": ("", b"%! nothing")},
    "has half a file": {"d2": DESCRIPTOR.format("/FontFile2 @file2"), "file2": ("", b"\0\1\0\0\0\x0a"
        + bytes(60))},
}
for number, (place, at) in enumerate(FONT_PLACES.items()):
    for name, objects in list(WRONG.items())[: 6 if number < 2 else 2]:
        row("fonts_embedded", f"in {place} a font {name}", {**at, "obj": {**at.get("obj", {}), "f2": FONT,
            **objects}})
    if place != "the page":
        SOUND.append((f"a sound font in {place}", {**at, "obj": {**at.get("obj", {}), "f2": FONT.replace("@d2",
            "@descriptor")}}))
# ISO 32000-1, table 126: what may lie under each key, for a font that is no TrueType.
for name, key, keys, data in (
    ("a compact font", "FontFile3", "/Subtype /Type1C", compact_font(bare=True)),
    ("an OpenType font", "FontFile3", "/Subtype /OpenType", compact_font(bare=False)),
    ("a Type 1 font", "FontFile", "", b"%!PS-AdobeFont-1.0: Other\ncurrentfile eexec\n" + bytes(range(256))),
):
    SOUND.append((f"{name} embedded", {"list": {"Font": "/F2 @f2"}, "obj": {
        "f2": FONT.replace("/TrueType", "/Type1"),
        "d2": DESCRIPTOR.format(f"/{key} @file2"), "file2": (keys, data)}}))
row("fonts_subset", "a font embedded whole", {"list": {"Font": "/F2 @f2"},
    "obj": {"f2": FONT.replace("ABCDEG+Other", "Other").replace("@d2", "@descriptor")}})

# Where a stream may lie, and how it may be packed.
STREAMS: Mapping[str, Callable[[str, bytes], Spec]] = {
    "a form": lambda keys, data: {"list": {"XObject": "/Fx @fx"}, "obj": {"fx": (f"{FORM} {keys}", data)}},
    "an image": lambda keys, data: {"list": {"XObject": "/Ix @ix"},
        "obj": {"ix": (f"/Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceGray {keys}",
        data)}},
    "a letter map": lambda keys, data: {"list": {"Font": "/F2 @f2"}, "obj": {"f2": FONT.replace("@d2",
        "@descriptor /ToUnicode @map"), "map": (keys, data)}},
    "a function": lambda keys, data: {"list": {"ColorSpace": "/S [/Separation /Black /DeviceGray @fn]"},
        "obj": {"fn": (f"/FunctionType 4 /Domain [0 1] /Range [0 1] {keys}", data)}},
    "a drawn glyph": lambda keys, data: {"list": {"Font": "/T3 @t3"}, "obj": {"g": (keys, data),
        "t3": "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [0.1 0 0 0.1 0 0] /CharProcs << "
        "/a @g >> /Encoding << /Differences [97 /a] >> /FirstChar 97 /LastChar 97 /Widths [9] /Resources << >> "
        ">>"}},
    "the XMP": lambda keys, data: {"root": {"Metadata": "@meta"},
        "obj": {"meta": (f"/Type /Metadata /Subtype /XML {keys}", data)}},
    "a soft mask": lambda keys, data: {"x4": True,
        "list": {"ExtGState": "/Gm << /SMask << /S /Alpha /G @fx >> >>"}, "obj": {"fx": (f"{FORM} /Group << /S "
        f"/Transparency >> {keys}", data)}},
    "a pattern": lambda keys, data: {"list": {"Pattern": "/Pf @pf"},
        "obj": {"pf": (f"/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 /Resources "
        f"<< >> {keys}", data)}},
    "an appearance": lambda keys, data: {"page": {"Annots": "[<< /Subtype /PrinterMark /Rect [0 0 9 9] /AP << "
        "/N @fx >> >>]"}, "obj": {"fx": (f"{FORM} {keys}", data)}},
}
for place, put in STREAMS.items():
    row("filters", f"LZW in {place}", put("/Filter /LZWDecode", LZW))
    row("filters", f"LZW under Flate in {place}", put("/Filter [/FlateDecode /LZWDecode]", zlib.compress(LZW)))
row("filters", "LZW in an inline image", {"code": "1 0 0 1 20 20 cm BI /W 9 /H 1 /CS /G /BPC 8 /F /LZW ID "
    + LZW.decode("latin-1") + " EI"}, {"code": f"20 0 0 20 20 20 cm BI /W 1 /H 1 /CS /G /BPC 8 ID a EI {RECT}"})
row("filters", "JBIG2", pictured("/ColorSpace /DeviceGray /Filter /JBIG2Decode", b"x"))
row("filters", "JPEG 2000 in X-1a", pictured("/ColorSpace /DeviceGray /Filter /JPXDecode", jpx(1)),
    pictured("/ColorSpace /DeviceGray /Filter /JPXDecode", jpx(1), x4=True))

# Transparency.
for name, keys in {"a fill's opacity": "/ca 0.5", "a line's opacity": "/CA 0.5", "a blend mode": "/BM /Multiply",
    "a list of blend modes": "/BM [/Darken /Normal]", "a soft mask": "/SMask << /S /Alpha /G @fx >>"}.items():
    fx = {"fx": (f"{FORM}", "")}
    row("transparency", f"{name} on the page", {"list": {"ExtGState": f"/Gt << {keys} >>"}, "obj": fx},
        {"list": {"ExtGState": f"/Gt << {keys} >>"}, "obj": fx, "x4": True})
    row("transparency", f"{name} in a shading pattern",
        {"list": {"Pattern": f"/Ps << /PatternType 2 /ExtGState << {keys} >> /Shading << /ShadingType 2 "
        f"/ColorSpace /DeviceGray /Coords [0 0 9 9] /Function << /FunctionType 2 /Domain [0 1] /N 1 >> >> "
        f">>"}, "obj": fx})
    row("transparency", f"{name} in a form", {"list": {"XObject": "/Fy @fy"},
        "obj": fx | {"fy": (f"{FORM} /Resources << /ExtGState << /Gt << {keys} >> >> >>", "")}})
row("transparency", "a page group", {"page": {"Group": "<< /S /Transparency /CS /DeviceGray >>"}})
row("transparency", "a form's group", {"list": {"XObject": "/Fy @fy"},
    "obj": {"fy": (f"{FORM} /Group << /S /Transparency >>", "")}})
row("transparency", "an appearance's group",
    {"page": {"Annots": "[<< /Subtype /PrinterMark /Rect [0 0 9 9] /AP << /N @fx >> >>]"},
    "obj": {"fx": (f"{FORM} /Group << /S /Transparency >>", "")}})
row("transparency", "an annotation's opacity",
    {"page": {"Annots": "[<< /Subtype /PrinterMark /Rect [0 0 9 9] /CA 0.5 "
    ">>]"}}, {"page": {"Annots": "[<< /Subtype /PrinterMark /Rect [0 0 9 9] >>]"}})

# Colour by what a file says, and what it holds.
for mode, space in (("RGB", "DeviceCMYK"), ("RGB", "DeviceGray"), ("CMYK", "DeviceGray"), ("L", "DeviceCMYK")):
    row("colour", f"a JPEG in {mode} labelled {space}", pictured(f"/ColorSpace /{space} /Filter /DCTDecode",
        jpeg(mode)))
SOUND += [("a JPEG in gray", pictured("/ColorSpace /DeviceGray /Filter /DCTDecode", jpeg("L"))),
    ("a JPEG in CMYK, which Pillow writes turned over",
    pictured("/ColorSpace /DeviceCMYK /Decode [1 0 1 0 1 0 1 0] /Filter /DCTDecode", jpeg("CMYK")))]
row("colour", "a JPEG in RGB under Flate", pictured("/ColorSpace /DeviceGray /Filter [/FlateDecode /DCTDecode]",
    zlib.compress(jpeg("RGB"))))
row("colour", "JPEG 2000 in RGB, unlabelled", pictured("/Filter /JPXDecode", jpx(3), x4=True))
row("colour", "JPEG 2000 in RGB, labelled gray", pictured("/ColorSpace /DeviceGray /Filter /JPXDecode", jpx(3),
    x4=True))
row("colour", "a group mixed in RGB", {"x4": True, "page": {"Group": "<< /S /Transparency /CS /DeviceRGB >>"}},
    {"x4": True, "page": {"Group": "<< /S /Transparency /CS /DeviceCMYK >>"}})
row("colour", "a form's group mixed in RGB", {"x4": True, "list": {"XObject": "/Fy @fy"},
    "obj": {"fy": (f"{FORM} /Group << /S /Transparency /CS /DeviceRGB >>", "")}})
row("colour", "an image in RGB", pictured("/ColorSpace /DeviceRGB /Filter /FlateDecode",
    zlib.compress(bytes(30000))))
row("colour", "an image in indexed RGB",
    pictured("/ColorSpace [/Indexed /DeviceRGB 0 <ff0000>] /Filter /FlateDecode", zlib.compress(bytes(10000))))
row("colour", "a colour by profile in X-1a", {"code": f"/I cs 0.5 scn {RECT}",
    "res": "/ColorSpace << /I [/ICCBased @gray] >>", "obj": {"gray": ("/N 1",
    b"profile")}}, {"code": f"/I cs 0.5 scn {RECT}", "res": "/ColorSpace << /I [/ICCBased @gray] "
    ">>", "x4": True, "obj": {"gray": ("/N 1", b"profile")}})

# Actions, annotations, other files.
OUT = "/Rect [0 0 20 20]"
for name, note in {
    "a link to the net": f"<< /Subtype /Link {OUT} /A << /S /URI /URI (http://example.org) >> >>",
    "an attachment": f"<< /Subtype /FileAttachment {OUT} /FS << /Type /Filespec /F (a.txt) /EF << /F @ef >> >> >>",
    "an action by itself": f"<< /Subtype /PrinterMark {OUT} /AA << /E << /S /JavaScript /JS (1) >> >> >>",
}.items():
    row("actions", f"{name} outside the bleed", {"page": {"Annots": f"[{note}]"},
        "obj": {"ef": ("/Type /EmbeddedFile", "x")}})
    row("annotations", f"{name} inside the bleed",
        {"page": {"Annots": f"[{note.replace(OUT, '/Rect [99 99 120 120]')}]"},
        "obj": {"ef": ("/Type /EmbeddedFile", "x")}})
for kind in ("Text", "Square", "Link", "Widget", "Stamp", "Ink", "FreeText"):
    row("annotations", f"an annotation: {kind}",
        {"page": {"Annots": f"[<< /Subtype /{kind} /Rect [99 99 150 150] "
        f">>]"}}, {"page": {"Annots": f"[<< /Subtype /{kind} /Rect [1 1 20 20] "
        f">>]"}} if kind in ("Text", "Link") else None)
for key, value in {
    "OpenAction": "<< /S /Named /N /Print >>",
    "AA": "<< /WC << /S /JavaScript /JS (1) >> >>",
    "AcroForm": "<< /Fields [] >>",
    "AF": "[<< /Type /Filespec /F (a) >>]",
    "Collection": "<< >>",
    "Names": "<< /JavaScript << /Names [(a) << /S /JavaScript /JS (1) >>] >> >>",
    "Outlines": "<< /First << /Title (a) /A << /S /URI /URI (a) >> >> >>",
}.items():
    row("actions", f"the catalogue's {key}", {"root": {key: value}},
        {"root": {key: "[@page /Fit]"}} if key == "OpenAction" else None)
row("actions", "embedded files", {"root": {"Names": "<< /EmbeddedFiles << /Names [] >> >>"}},
    {"root": {"Names": "<< /Dests << /Names [(a) [@page /Fit]] >> >>"}})
row("actions", "a page's own actions", {"page": {"AA": "<< /O << /S /JavaScript /JS (1) >> >>"}})
for name, keys in {"a reference to another file": "/Ref << /F (other.pdf) /Page 0 >>",
    "PostScript": "/Subtype2 /PS", "OPI": "/OPI << /1.3 << >> >>"}.items():
    row("actions", f"{name} in a form", {"list": {"XObject": "/Fy @fy"}, "obj": {"fy": (f"{FORM} {keys}", "")}})
    row("actions", f"{name} in a form in a form", {"list": {"XObject": "/Fz @fz"},
        "obj": {"fy": (f"{FORM} {keys}", ""), "fz": (f"{FORM} /Resources << /XObject << /Fy @fy >> >>", "")}})
row("actions", "an alternate image", {**GRAY, "obj": {**GRAY["obj"], "im": (GRAY["obj"]["im"][0]
    + " /Alternates [<< /Image @im >>]", GRAY["obj"]["im"][1])}}, GRAY)
row("actions", "data from another file", {"list": {"XObject": "/Fy @fy"}, "obj": {"fy": (f"{FORM} /F (other.bin)",
    "")}})

# What the file says of itself.
DATE = "2026-03-01T12:30:00Z"


def xmp(old: str, new: str) -> Spec:
    return {"x4": True, "swap": [(old.encode(), new.encode().ljust(len(old)))]}


for name, spec in {
    "another title": xmp(">Lamps<", ">Lambs<"),
    "another date": xmp(f"CreateDate>{DATE}", "CreateDate>2026-03-02T12:30:00Z"),
    "another change": xmp(f"ModifyDate>{DATE}", "ModifyDate>2025-03-01T12:30:00Z"),
    "another tool": xmp("Tool>hand<", "Tool>foot<"),
    "other trapping": xmp("Trapped>False<", "Trapped>True <"),
    "a tag that never ends": xmp("</rdf:Description>", "<rdf:Description> "),
    "an entity": xmp('<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>', '<!DOCTYPE a [<!ENTITY b "c">]>'),
    "no id": xmp("xmpMM:DocumentID>uuid:1</xmpMM:DocumentID", "xmpMM:DocumentIX>uuid:1</xmpMM:DocumentIX"),
    "an empty version": xmp("VersionID>1<", "VersionID> <"),
    "no class": xmp(">default<", ">       <"),
}.items():
    row("xmp", f"XMP with {name}", spec)
row("xmp", "XMP that is none, in X-1a", {"root": {"Metadata": "@meta"}, "obj": {"meta": ("/Subtype /XML",
    "not XML")}})
# ISO 16684-1, 7.3.3: the element round the RDF may be left out.
SOUND.append(("XMP without an x:xmpmeta", {"x4": True, "swap": [
    (b'<x:xmpmeta xmlns:x="adobe:ns:meta/">', b" " * 36), (b"</x:xmpmeta>", b" " * 12)]}))
SOUND += [("the same moment in another zone", {"x4": True,
    "info": {"CreationDate": "(D:20260301133000+01'00')"}}), ("a date without a "
    "zone", {"info": {"ModDate": "(D:20260301)"}})]
for key in ("Title", "CreationDate", "ModDate", "Trapped"):
    row("document_info", f"no {key}", {"info": {key: None}})
for value in ("(today)", "(D:20261301)", "(D:20260230120000Z)", "(2026-03-01)", "(D:20260301256000Z)", "()"):
    row("document_info", f"a ModDate of {value}", {"info": {"ModDate": value}})
row("document_info", "a creation that is no date", {"info": {"CreationDate": "(D:yesterday)"}})
for value in ("/Unknown", "(False)", "false"):
    row("document_info", f"trapping as {value}", {"info": {"Trapped": value}}, {"info": {"Trapped": "/True"}})
for name, value in {"no claim": None, "another kind": "(PDF/X-3:2002)",
    "another edition": "(PDF/X-1a:2001)"}.items():
    row("identification", name, {"info": {"GTS_PDFXVersion": value}})
row("identification", "an edition's old key", {"info": {"GTS_PDFXConformance": "(PDF/X-1a:2003)"}})
row("identification", "two claims", {"x4": True, "info": {"GTS_PDFXVersion": "(PDF/X-1a:2003)"}})
row("identification", "a claim in a namespace of its own", xmp("www.npes.org/pdfx/ns/id/",
    "www.npes.org/pdfx/ns/ix/"))

# The output intent.
for key, value in {"OutputConditionIdentifier": "(Our own press)", "Info": "()", "RegistryName": "()",
    "S": "/GTS_PDFA1"}.items():
    row("output_intent", f"an intent with {key} {value}", {"intent": {key: value}})
for name in ("Custom", "FOGRA 99", "uncoated", "FOGRA"):
    row("output_intent", f"an unknown condition {name} by name alone",
        {"intent": {"OutputConditionIdentifier": f"({name})"}})
row("output_intent", "another paper", {"intent": {"OutputConditionIdentifier": "(FOGRA51)"}})
row("output_intent", "no intent", {"root": {"OutputIntents": None}})
row("output_intent", "two intents", {"root": {"OutputIntents": "[@intent @intent]"}})
row("output_intent", "no profile in X-4", {"x4": True, "intent": {"DestOutputProfile": None}})


def profiled(data: bytes, condition: str = "FOGRA52", colours: int = 4) -> Spec:
    return {"x4": True, "intent": {"OutputConditionIdentifier": f"({condition})"},
        "obj": {"icc": (f"/N {colours}", data)}}


SEEN = ["a half", "a header's half", "nothing", "another condition's", "another's by its maker's words",
    "a screen's", "the wrong N"]


@pytest.fixture(scope="module")
def profiles(icc: Callable[..., bytes]) -> Mapping[str, Spec]:
    whole = icc(b"made from FOGRA52\0")
    return dict(zip(SEEN, (profiled(whole[:-9]), profiled(whole[:90]), profiled(b""),
        profiled(icc(b"Coated FOGRA39 (ISO 12647-2:2004)\0")), profiled(icc(b"U.S. Web Coated (SWOP) "
        b"v2\0")), profiled(icc(b"screen\0", b"RGB ", b"mntr")), profiled(whole, colours=1)), strict=True))


@pytest.mark.parametrize("which", SEEN)
def test_a_profile_that_is_not_what_the_intent_says_is_named(which: str, profiles: Mapping[str, Spec],
    made: Callable[..., bytes], held_to: Profile) -> None:
    assert {finding.rule for finding in preflight(made(profiles[which]), held_to).findings} == {"output_intent"}


@pytest.mark.parametrize("condition", ["FOGRA52", "Custom", "PSO Uncoated v3 (FOGRA52)"])
def test_a_profile_made_for_its_condition_or_one_of_ones_own_is_let_pass(condition: str, made: Callable[...,
    bytes], icc: Callable[..., bytes], held_to: Profile) -> None:
    assert preflight(made(profiled(icc(b"PSO Uncoated v3 (FOGRA52)\0"), condition)), held_to).findings == ()


# The file's build.
row("version", "1.5", {"version": "1.5"})
row("version", "1.7 in X-4", {"x4": True, "version": "1.7"}, {"x4": True, "version": "1.4"})
row("version", "a later catalogue", {"root": {"Version": "/1.6"}})
row("version", "a 16-bit image", {**GRAY,
    "obj": {"im": ("/Subtype /Image /Width 100 /Height 100 /BitsPerComponent 16 /ColorSpace /DeviceGray /Filter "
    "/FlateDecode", zlib.compress(bytes(20000)))}})
row("document_id", "no id", {"trailer": {"ID": None}})
row("document_id", "half an id", {"trailer": {"ID": "[<0102>]"}})
row("optional_content", "layers in X-1a", {"root": {"OCProperties": "<< /OCGs [] /D << >> >>"}},
    {"root": {"OCProperties": "<< /OCGs [] /D << >> >>"}, "x4": True})
for key in ("ViewArea", "ViewClip", "PrintArea", "PrintClip"):
    row("viewer_areas", f"{key} on the trim", {"root": {"ViewerPreferences": f"<< /{key} /TrimBox >>"}},
        {"root": {"ViewerPreferences": f"<< /{key} /BleedBox >>"}} if key == "ViewArea" else None)
for name, keys in {"a transfer function": "/TR /Identity", "another": "/TR2 /Identity",
    "a named halftone": "/HT << /HalftoneType 1 /HalftoneName (a) >>", "a threshold halftone": "/HT << "
    "/HalftoneType 6 >>"}.items():
    row("transfer", name, {"list": {"ExtGState": f"/Gt << {keys} >>"}},
        {"list": {"ExtGState": "/Gt << /TR2 /Default >>"}} if name == "another" else None)
for name, keys in {
    "no trim": {"TrimBox": None},
    "trim and art": {"ArtBox": "[99 99 199 199]"},
    "a bleed within the trim": {"BleedBox": "[99 99 199 199]"},
    "a unit of its own": {"UserUnit": "2"},
    "a crop within the bleed": {"CropBox": "[99 99 199 199]"},
    "a box of words": {"TrimBox": "[/a /b /c /d]"},
    "no media": {"MediaBox": None},
    "a short box": {"TrimBox": "[1 2]"},
}.items():
    row("boxes", name, {"page": keys})
row("page_size", "a page of another size", {"page": {"TrimBox": "[45 45 440 600]"}})


@pytest.mark.parametrize("by", ["hand", "pypdf"])
@pytest.mark.parametrize(("rule", "spec"), [(rule, spec) for rule, _, spec in ROWS], ids=[name for _, name,
    _ in ROWS])
def test_a_defect_is_named_by_its_rule(rule: str, spec: Spec, by: str, made: Callable[..., bytes],
    held_to: Profile) -> None:
    if by != "hand" and rule in ("boxes", "document_id", "document_info", "version", "filters"):
        by = "hand"  # which mends it
    assert rule in {finding.rule for finding in preflight(made(spec, by), held_to).findings}


@pytest.mark.parametrize("by", ["hand", "qpdf"])
@pytest.mark.parametrize("spec", [spec for _, spec in SOUND], ids=[name for name, _ in SOUND])
def test_the_nearest_sound_file_is_let_pass(spec: Spec, by: str, made: Callable[..., bytes],
    held_to: Profile) -> None:
    assert [finding.message for finding in preflight(made(spec, by), held_to).findings] == []


def test_no_row_stands_twice() -> None:
    assert len({name for _, name, _ in ROWS}) == len(ROWS)
    assert len(ROWS) >= 150


@pytest.mark.parametrize("mode", [pikepdf.ObjectStreamMode.generate])
def test_object_streams_are_no_part_of_pdf_1_4(mode: Any, made: Callable[..., bytes], held_to: Profile) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(made({}))) as pdf:
        pdf.save(out, object_stream_mode=mode)
    data = out.getvalue().replace(b"%PDF-1.5", b"%PDF-1.4")
    assert data.startswith(b"%PDF-1.4")
    assert [finding.rule for finding in preflight(data, held_to).findings] == ["version"]
