"""Files with one defect in what they draw, each beside the nearest file without it."""

from __future__ import annotations

import zlib
from collections.abc import Callable, Mapping
from typing import Any

import pytest

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import preflight

Spec = Mapping[str, Any]
PLACES = ("page", "form", "form in a form", "pattern", "glyph", "annotation")
"""Where a page's drawing may lie."""

LAYER = {"list": {"Properties": "/Off @layer"}, "obj": {"layer": "<< /Type /OCG /Name (off) >>"}, "x4": True,
    "root": {"OCProperties": "<< /OCGs [@layer] /D << /OFF [@layer] >> >>"}}


def text(size: float, more: str = "") -> str:
    return f"BT /F1 {size} Tf {more} 20 20 Td (abc) Tj ET"


def packed(data: bytes) -> bytes:
    return zlib.compress(data)


def image(keys: str, data: bytes, **more: Any) -> Spec:
    """An image of 20 x 20 pt drawn on the page, its data packed with Flate."""
    return {"code": "20 0 0 20 20 20 cm /Im Do", "res": "/XObject << /Im @im >>",
        "obj": {"im": (f"/Subtype /Image {keys} /Filter /FlateDecode", packed(data))}} | more


def squares(pixel: bytes, side: int = 100) -> bytes:
    return pixel * (side * side)


GRAY_IMAGE = "/Width 100 /Height 100 /BitsPerComponent 8 /ColorSpace /DeviceGray"
CMYK_IMAGE = "/Width 100 /Height 100 /BitsPerComponent 8 /ColorSpace /DeviceCMYK"
FADE = "/FunctionType 2 /Domain [0 1] /N 1"


def shading(space: str, low: str, high: str) -> str:
    return (f"<< /ShadingType 2 /ColorSpace {space} /Coords [0 0 100 0] "
            f"/Function << {FADE} /C0 [{low}] /C1 [{high}] >> >>")


def shaded(space: str, low: str, high: str) -> Spec:
    return {"code": "0 0 100 100 re W n /Sh sh", "res": f"/Shading << /Sh {shading(space, low, high)} >>"}


def overprinted(code: str, keys: str = "/op true /OP true /OPM 1") -> Spec:
    return {"code": f"/Op gs {code}", "res": f"/ExtGState << /Op << {keys} >> >>"}


INDEXED = "[/Indexed /DeviceCMYK 1 <{}00000000>]"
RECT = "0 0 50 50 re f"

ROWS: list[tuple[str, str, Spec]] = []
SOUND: list[tuple[str, Spec]] = []


def row(rule: str, name: str, spec: Spec, near: Spec | None = None) -> None:
    ROWS.append((rule, name, spec))
    if near is not None:
        SOUND.append((f"{rule}: not {name}", near))


for at in (*PLACES, "mask"):
    row("colour", f"RGB in a {at}", {"at": at, "code": f"1 0 0 rg {RECT}", "x4": at == "mask"}, {"at": at,
        "code": f"0.5 g {RECT}", "x4": at == "mask"} if at in ("page", "form", "pattern") else None)
    row("colour", f"RGB lines in a {at}", {"at": at, "code": "1 0 0 RG 2 w 0 0 m 50 50 l S", "x4": at == "mask"})
    row("colour", f"Lab in a {at}", {"at": at, "code": f"/L cs 50 0 0 scn {RECT}", "x4": at == "mask",
        "res": "/ColorSpace << /L [/Lab << /WhitePoint [0.96 1 0.82] >>] "
        ">>"} if at != "mask" else {"at": at, "code": f"/DeviceRGB cs {RECT}", "x4": True})
for at in PLACES:
    row("colour", f"RGB shading in a {at}", {"at": at, **shaded("/DeviceRGB", "1 0 0", "0 1 0")})
    row(
        "colour",
        f"spot ink in a {at}",
        {"at": at, "code": f"/S cs 1 scn {RECT}",
            "res": f"/ColorSpace << /S [/Separation /Blue /DeviceCMYK << {FADE} /C0 [0 0 0 0] /C1 [1 0 0 0] >>] "
            f">>"},
        {"at": at, "code": f"/S cs 1 scn {RECT}",
            "res": f"/ColorSpace << /S [/Separation /Black /DeviceCMYK << {FADE} /C0 [0 0 0 0] /C1 [0 0 0 1] "
            f">>] >>"} if at in ("page", "form") else None,
    )
    row("thin_lines", f"a hairline in a {at}", {"at": at, "code": "0.1 w 0 20 m 100 20 l S"}, {"at": at,
        "code": "0.3 w 0 20 m 100 20 l S"} if at != "annotation" else None)
    row("thin_lines", f"a line of no width in a {at}", {"at": at, "code": "0 w 0 20 m 100 20 l S"})
    row("thin_lines", f"a narrow rectangle in a {at}", {"at": at, "code": "0 20 100 0.1 re f"}, {"at": at,
        "code": "0 20 100 0.4 re f"} if at == "page" else None)
    row("thin_lines", f"a narrow clip in a {at}", {"at": at, "code": "0 20 100 0.1 re W n 0 0 100 100 re f"},
        {"at": at, "code": "0 20 100 2 re W n 0 0 100 100 re f"} if at == "page" else None)
    row("rich_black", f"rich black in a {at}", {"at": at, "code": f"0.4 0.3 0.3 1 k {RECT}"}, {"at": at,
        "code": f"0 0 0 1 k {RECT}"} if at != "annotation" else None)
    row("rich_black", f"rich black lines in a {at}", {"at": at, "code": "1 0 0 1 K 1 w 0 20 m 50 20 l S"})
    row("ink_total", f"too much ink in a {at}", {"at": at, "code": f"1 1 1 0.2 k {RECT}"}, {"at": at,
        "code": f"0.9 0.9 0.9 0 k {RECT}"} if at == "page" else None)
    row("small_type", f"small type in a {at}", {"at": at, "code": text(2),
        "res": "/Font << /F1 @font "
        ">>"} if at != "page" else {"code": text(2)}, {"at": at, "code": text(5), "res": "/Font << /F1 @font "
        ">>"} if at in ("form", "pattern") else None)
    row("light_tints", f"a faint tint in a {at}", {"at": at, "code": f"0.98 g {RECT}"}, {"at": at,
        "code": f"0.9 g {RECT}"} if at == "page" else None)
    row("image_resolution", f"a coarse image in a {at}", {"at": at,
        **image("/Width 20 /Height 20 /BitsPerComponent 8 /ColorSpace /DeviceGray", bytes(400))})
    row("image_resolution", f"coarse line art in a {at}", {"at": at,
        **image("/Width 104 /Height 100 /ImageMask true", bytes(1300))})
    row("content", f"an unknown operator in a {at}", {"at": at, "code": f"{RECT} 1 foo"})
    row("content", f"Q too many in a {at}", {"at": at, "code": f"{RECT} Q Q q"} if at == "page" else {"at": at,
        "code": f"{RECT} Q"})
    row("content", f"a missing form in a {at}", {"at": at, "code": "/Nil Do"})
    row("overprint", f"white that overprints in a {at}", {"at": at, **overprinted(f"0 0 0 0 k {RECT}")},
        {"at": at, **overprinted(f"0 0 0 0 k {RECT}", "/op false /OP false")} if at == "page" else None)

row("thin_lines", "a slanted narrow fill", {"code": "0 0 m 100 50 l 100.05 49.9 l 0.05 -0.1 l h f"})
row("thin_lines", "a narrow frame", {"code": "0 0 100 100 re 0.1 0.1 99.8 99.8 re f*"},
    {"code": "0 0 100 100 re 5 5 90 90 re f*"})
row("thin_lines", "a stencil drawn flat", {"code": "100 0 0 0.1 20 20 cm /Im Do", "res": "/XObject << /Im @im >>",
    "obj": {"im": ("/Subtype /Image /Width 2000 /Height 8 /ImageMask true", bytes(2000))}})
row("thin_lines", "a triangle as thin as a hair", {"code": "0 0 m 100 0.2 l 100 0 l h f"})
row("thin_lines", "a fill of no width", {"code": "20 20 0 100 re f"})
row("thin_lines", "a line squeezed across", {"code": "1 0 0 0.1 0 0 cm 1 w 0 200 m 100 200 l S"},
    {"code": "1 0 0 0.1 0 0 cm 1 w 50 0 m 50 1000 l S"})
row("thin_lines", "a width by graphics state", {"code": "/W gs 0 0 m 50 50 l S",
    "res": "/ExtGState << /W << /LW 0.1 >> >>"})
row("thin_lines", "outlined letters", {"code": text(20, "1 Tr 0.1 w")}, {"code": text(20, "1 Tr 0.5 w")})
row(
    "thin_lines",
    "a glyph's own line, scaled down",
    {
        "code": "BT /T 10 Tf 20 20 Td (a) Tj ET",
        "res": "/Font << /T @t >>",
        "obj": {"g": ("", "1000 0 0 0 900 900 d1 10 w 0 0 m 900 900 l S"),
            "t": "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 1000 1000] /FontMatrix [0.001 0 0 0.001 0 0] "
            "/CharProcs << /a @g >> /Encoding << /Differences [97 /a] >> /FirstChar 97 /LastChar 97 /Widths "
            "[1000] /Resources << >> >>"},
    },
)
for size, matrix, tz in ((20, "1 0 0 0.1 20 20 Tm", ""), (20, "0.1 0 0 1 20 20 Tm", ""), (20, "", "12 Tz"), (20,
    "0.1 0 0 0.1 20 20 Tm", ""), (20, "0.07 0.07 -0.07 0.07 20 20 Tm", ""), (12, "", "20 Tz")):
    row("small_type", f"type of {size} pt, {matrix}{tz}", {"code": text(size, f"{tz} {matrix}")},
        {"code": text(size, f"90 Tz {matrix and '0.5 0 0 0.5 20 20 Tm'}")})
row("small_type", "small white type on ink", {"code": f"0 g 0 0 100 100 re f 1 g {text(5)}"},
    {"code": f"1 g {text(5)}"})
row("small_type", "type scaled by the page", {"code": f"0.2 0 0 0.2 0 0 cm {text(12)}"})
TYPE3 = ("<< /Type /Font /Subtype /Type3 /FontBBox [0 0 {box}] /FontMatrix [{matrix} 0 0] /CharProcs << /a @g >> "
    "/Encoding << /Differences [97 /a] >> /FirstChar 97 /LastChar 97 /Widths [10] /Resources << >> >>")
for name, box, matrix, size, fine in (("ten units to an em", "10 10", "1 0 0 1", 0.2, 1.2), ("squeezed",
    "1000 1000", "0.0001 0 0 0.001", 12, 40), ("flattened", "1000 1000", "0.001 0 0 "
    "0.0002", 12, 40), ("tiny", "10 10", "0.01 0 0 0.01", 12, 90)):
    drawn = {"res": "/Font << /T @t >>", "obj": {"g": ("",
        "10 0 0 0 {0} {0} d1 0 0 {0} {0} re "
        "f".format(int(box.split()[0]) * 8 // 10)), "t": TYPE3.format(box=box, matrix=matrix)}}
    row("small_type", f"drawn type, {name}", {"code": f"BT /T {size} Tf 20 20 Td (a) Tj ET", **drawn})
    SOUND.append((f"drawn type, {name}", {"code": f"BT /T {fine} Tf 20 20 Td (a) Tj ET", **drawn}))

BLACK = b"\x66\x4d\x4d\xff"
row("rich_black", "a rich black image", image(CMYK_IMAGE, squares(BLACK)), image(CMYK_IMAGE,
    squares(b"\0\0\0\xff")))
for bits, rich, plain in ((16, bytes.fromhex("66664d4d4d4dffff"), bytes.fromhex("000000000000ffff")),
                          (4, b"\x64\x4f", b"\0\x0f"), (2, b"\x57", b"\x03")):
    deep = CMYK_IMAGE.replace("BitsPerComponent 8", f"BitsPerComponent {bits}")
    row("rich_black", f"a rich black image of {bits} bits", image(deep, squares(rich), x4=True),
        image(deep, squares(plain), x4=True))
row("rich_black", "a rich black indexed image", image(CMYK_IMAGE.replace("/DeviceCMYK",
    INDEXED.format("664d4dff")), squares(b"\0")),
    image(CMYK_IMAGE.replace("/DeviceCMYK", INDEXED.format("000000ff")), squares(b"\0")))
row("rich_black", "rich black by index", {"code": f"/I cs 0 sc {RECT}",
    "res": f"/ColorSpace << /I {INDEXED.format('664d4dff')} >>"})
row("rich_black", "rich black in named inks", {"code": f"/N cs 0.5 1 scn {RECT}",
    "obj": {"fn": ("/FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1]",
    "{ 0 0 3 -1 roll }")}, "res": "/ColorSpace << /N [/DeviceN [/Cyan /Black] /DeviceCMYK @fn] >>"})
row("rich_black", "a rich black shading", shaded("/DeviceCMYK", "0.5 0 0 1", "0 0 0 0"), shaded("/DeviceCMYK",
    "0 0 0 1", "0 0 0 0.1"))
row("rich_black", "registration black", {"code": f"/A cs 1 scn {text(12)}",
    "res": f"/ColorSpace << /A [/Separation /All /DeviceCMYK << {FADE} /C0 [0 0 0 0] /C1 [1 1 1 1] >>] >>"})
row("rich_black", "rich black type", {"code": f"0.6 0.4 0.4 1 k {text(12)}"}, {"code": f"0 0 0 0.8 k {text(12)}"})
row("rich_black", "type twice, black over cyan", overprinted(f"1 0 0 0 k {text(12)} 0 0 0 1 k {text(12)}"),
    {"code": f"1 0 0 0 k {RECT} 0 0 0 1 k {text(12)}"})
row("rich_black", "an area twice, black over magenta", overprinted(f"0 1 0 0 k {RECT} 0 0 0 1 k {RECT}"),
    overprinted(f"0 1 0 0 k {RECT} 0 0 0 1 k {text(12)}"))
row("ink_total", "too much ink in an image", image(CMYK_IMAGE, squares(b"\xff\xff\xe0\0")), image(CMYK_IMAGE,
    squares(b"\xe0\xe0\x80\0")))
row("ink_total", "too much ink in part of an image", image(CMYK_IMAGE, squares(b"\xff\xff\xff\x20")[:4000]
    + squares(b"\0\0\0\x20")[4000:]))
row("ink_total", "too much ink in an inline image",
    {"code": "2 0 0 2 20 20 cm BI /W 10 /H 10 /CS /CMYK /BPC 8 ID " + "~~~~" * 100 + " EI".replace("",
    "")} if False else image(CMYK_IMAGE + " /Decode [1 0 1 0 1 0 1 0]", squares(bytes(4))))
row("ink_total", "too much ink in a shading", shaded("/DeviceCMYK", "1 1 1 0", "0 0 0 0"), shaded("/DeviceCMYK",
    "0.9 0.9 0.5 0", "0 0 0 0.2"))
row("ink_total", "too much ink in a shading pattern", {"code": "/Pattern cs /P scn 0 0 100 100 re f",
    "res": f"/Pattern << /P << /PatternType 2 /Shading {shading('/DeviceCMYK', '1 1 1 0', '0 0 0 0')} >> >>"})
row("ink_total", "inks piled up", overprinted(f"1 1 0.7 0 k {RECT} 0 0 0 0.9 k 10 10 20 20 re f"),
    overprinted(f"0.5 0.5 0.2 0 k {RECT} 0 0 0 0.9 k 10 10 20 20 re f"))
row("ink_total", "too much ink in an indexed image", image(CMYK_IMAGE.replace("/DeviceCMYK",
    INDEXED.format("ffffff40")), squares(b"\0")))
row(
    "image_resolution",
    "a coarse soft mask",
    image(GRAY_IMAGE + " /SMask @sm", squares(b"\x80"), x4=True) | {"obj": {"im": ("/Subtype /Image "
        + GRAY_IMAGE + " /SMask @sm /Filter /FlateDecode", packed(squares(b"\x80"))), "sm": ("/Subtype /Image "
        "/Width 4 /Height 4 /BitsPerComponent 8 /ColorSpace /DeviceGray", bytes(16))}},
    image(GRAY_IMAGE, squares(b"\x80")),
)
row("image_resolution", "an image coarse one way",
    image("/Width 400 /Height 20 /BitsPerComponent 8 /ColorSpace /DeviceGray", bytes(8000)))
row("image_resolution", "a coarse inline image", {"code": "20 0 0 20 20 20 cm BI /W 10 /H 10 /CS /G /BPC 8 ID "
    + "a" * 100 + " EI"})
row("content", "q without Q", {"code": f"{RECT} q"})
row("content", "a missing font", {"code": text(12).replace("/F1", "/F9")})
row("content", "a missing graphics state", {"code": f"/Nil gs {RECT}"})
row("content", "a missing colour space", {"code": f"/Nil cs {RECT}"})
row("content", "a missing pattern", {"code": f"/Pattern cs /Nil scn {RECT}"})
row("content", "a missing shading", {"code": "/Nil sh"})
row("content", "too few numbers", {"code": f"0 0 50 re f {RECT}"}, {"code": f"BX 1 foo EX {RECT}"})
row("content", "a colour of too few numbers", {"code": f"0 0 1 k {RECT}"})
row("content", "text before any font", {"end": " q BT 20 20 Td ET Q", "code": "BT /Nil 10 Tf (abc) Tj ET"})
row("content", "an image of no height",
    {"obj": {"im": ("/Subtype /Image /Width 10 /BitsPerComponent 8 /ColorSpace /DeviceGray", bytes(100))},
    "list": {"XObject": "/Im @im"}})
row("overprint", "white type that overprints", overprinted(f"0 0 0 0 k {text(12)}"))
row("overprint", "white lines that overprint", overprinted("0 0 0 0 K 2 w 0 0 m 50 50 l S", "/OP true /OPM 1"))
row("overprint", "white by a named ink",
    overprinted(f"/S cs 0 scn {RECT}") | {"res": "/ExtGState << /Op << /op true /OPM 1 >> >> /ColorSpace << /S "
    "[/Separation /Black /DeviceCMYK << " + FADE + " /C0 [0 0 0 0] /C1 [0 0 0 1] >>] >>"})
for edge, code in (("left", f"{-80} 100 20 20 re f"), ("foot", "100 -110 20 20 re f"), ("right",
    "320 100 19.5 20 re f")):
    row("bleed", f"a tab that stops at the {edge}", {"code": f"0.5 g {code}"})
row("bleed", "a tab half way into the bleed", {"code": "0.5 g -84 100 20 20 re f"},
    {"code": "0.5 g -89 100 40 20 re f"})
row("bleed", "a gradient that stops at the cut", {"code": "-80 100 20 20 re W n /Sh sh",
    "res": f"/Shading << /Sh {shading('/DeviceGray', '0.2', '0.8')} >>"}, {"code": "0 100 20 20 re W n /Sh "
    "sh", "res": f"/Shading << /Sh {shading('/DeviceGray', '0.2', '0.8')} >>"})
for rule, code in (("safety", "330 100 5 5 re f"), ("safety", "100 -105 5 5 re f"), ("gutter",
    "-60 100 5 5 re f")):
    row(rule, f"matter near the edge: {code}", {"code": f"0.5 g {code}"}, {"code": f"1 g {code}"})
row("safety", "type near the head", {"code": f"1 0 0 1 0 452 cm {text(9)}"})

SOUND += [
    ("a gradient in the middle, in X-4", {**shaded("/DeviceGray", "0.1", "0.9"), "x4": True}),
    ("RGB by a default, in X-4", {"code": f"1 0 0 rg {RECT}", "x4": True, "obj": {"rgb": ("/N 3", b"profile")},
        "res": "/ColorSpace << /DefaultRGB [/ICCBased @rgb] >>"}),
    ("a gradient by a default RGB, in X-4", {"x4": True, "obj": {"rgb": ("/N 3", b"profile")},
        "code": "0 0 100 100 re W n /Sh sh", "res": "/ColorSpace << /DefaultRGB [/ICCBased @rgb] >> /Shading << "
        "/Sh " + shading("/DeviceRGB", "1 0 0", "0 1 0") + " >>"}),
    ("a hairline on a layer that is off", {**LAYER, "code": "/OC /Off BDC 0.05 w 0 20 m 100 20 l S EMC"}),
    ("a photograph's dark corner", image(CMYK_IMAGE, squares(b"\x80\x60\x60\x40")[:-400]
        + b"\x40\x30\x30\xff" * 100)),
    ("opacity in X-4", {"x4": True, "code": f"/T gs {RECT}", "res": "/ExtGState << /T << /ca 0.5 >> >>"}),
]


@pytest.mark.parametrize("by", ["hand", "qpdf", "pypdf"])
@pytest.mark.parametrize(("rule", "spec"), [(rule, spec) for rule, _, spec in ROWS], ids=[name for _, name,
    _ in ROWS])
def test_a_defect_is_named_by_its_rule(rule: str, spec: Spec, by: str, made: Callable[..., bytes],
    held_to: Profile) -> None:
    assert rule in {finding.rule for finding in preflight(made(spec, by), held_to).findings}


@pytest.mark.parametrize("by", ["hand", "qpdf", "pypdf"])
@pytest.mark.parametrize("spec", [spec for _, spec in SOUND], ids=[name for name, _ in SOUND])
def test_the_nearest_sound_file_is_let_pass(spec: Spec, by: str, made: Callable[..., bytes],
    held_to: Profile) -> None:
    assert [finding.message for finding in preflight(made(spec, by), held_to).findings] == []


def test_the_plain_file_is_sound(made: Callable[..., bytes], held_to: Profile) -> None:
    for spec in ({}, {"x4": True}):
        assert preflight(made(spec), held_to).findings == ()


def test_no_row_stands_twice() -> None:
    assert len({name for _, name, _ in ROWS}) == len(ROWS)
    assert len(ROWS) >= 180
