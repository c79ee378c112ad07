"""Finished files tampered with by a program that did not write them: what shows on paper or screen, and what is only
heard, copied or run. Each is caught and named.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pikepdf
import pytest
from fontTools.ttLib import TTFont
from pikepdf import Array, Dictionary, Name, Operator, String

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind

WINDOWS, RAILS, GIVEN = "four-windows", "crossed-rails", "platform-nine"
Tamper = Callable[[Any, Any], None]

TAMPERS: dict[str, tuple[Tamper, str]] = {}
"""Name -> what it does to a file, given the book, and words that must be in what is said of it."""


def tamper(said: str) -> Callable[[Tamper], Tamper]:
    """Note a way to tamper, by the name of its function."""
    def note(change: Tamper) -> Tamper:
        TAMPERS[change.__name__] = change, said
        return change
    return note


def _page(pdf: Any, little: Any, kind: GridKind = GridKind.PUZZLE, puzzle: str = WINDOWS) -> Any:
    return pdf.pages[little.grid(kind, puzzle).page - 1]


def _anchored(pdf: Any, little: Any, name: str) -> Any:
    pages = little.original.laid.pages
    return next(pdf.pages[at] for at, page in enumerate(pages) if any(one.name == name for one in page.anchors))


def _over(pdf: Any, page: Any, code: str) -> None:
    page.contents_add(f"q {code} Q".encode())


def _under(pdf: Any, page: Any, code: str, end: str = "") -> None:
    page.contents_add(code.encode(), prepend=True)
    if end:
        page.contents_add(end.encode())


def _state(page: Any, **entries: Any) -> None:
    """A graphics state under the name /Odd."""
    states = page.Resources.get("/ExtGState", Dictionary())
    states["/Odd"] = Dictionary(**entries)
    page.Resources["/ExtGState"] = states


def _recode(pdf: Any, page: Any, change: Callable[[list[Any]], list[Any]]) -> None:
    """A page's operations changed."""
    code = change([list(one) for one in pikepdf.parse_content_stream(page)])
    page.Contents = pdf.make_stream(pikepdf.unparse_content_stream([(one[0], one[1]) for one in code]))


def _replace(pdf: Any, page: Any, old: str, new: str, count: int = 1) -> None:
    """A page's content with a pattern replaced, in its first places."""
    content, found = re.subn(old.encode(), new.encode(), _content(page), count=count)
    assert found, f"there is no {old}"
    page.Contents = pdf.make_stream(content)


def _content(page: Any) -> bytes:
    page.contents_coalesce()
    return bytes(page.Contents.read_bytes())


def _cell(page: Any, place: Any, cell: Cell) -> tuple[float, float, float]:
    """A cell's left and low edge in the page's own space, and its side."""
    x, y = place.corner(cell)
    return x, float(page.MediaBox[3]) - y - place.cell, place.cell


def _solid(pdf: Any) -> Any:
    return pdf.make_stream(bytes(3), Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=8,
                           ColorSpace=Name.DeviceRGB)


# What shows: the page as a whole.

@tamper("it is turned by 180 degrees")
def upside_down(pdf: Any, little: Any) -> None:
    _page(pdf, little).Rotate = 180


@tamper("it is turned by 90 degrees")
def on_its_side(pdf: Any, little: Any) -> None:
    pdf.pages[0].Rotate = -270


@tamper("its CropBox, 74.0 x 210.0 mm, cuts into the page")
def cropped_to_a_half(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    page.CropBox = [0, 0, float(page.MediaBox[2]) / 2, page.MediaBox[3]]


@tamper("cuts into the page")
def a_smaller_sheet(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    page.MediaBox = [0, 0, page.MediaBox[2], float(page.MediaBox[3]) - 60]


@tamper("its BleedBox")
def a_bleed_within_the_trim(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    page.BleedBox = [20, 20, float(page.MediaBox[2]) - 20, float(page.MediaBox[3]) - 20]


@tamper("its ArtBox is not the page")
def an_art_box(pdf: Any, little: Any) -> None:
    pdf.pages[4].ArtBox = [0, 0, 100, 100]


@tamper("it is shown 2 times as large")
def twice_as_large(pdf: Any, little: Any) -> None:
    pdf.pages[4].UserUnit = 2


@tamper("it has an entry /Trans")
def a_transition(pdf: Any, little: Any) -> None:
    pdf.pages[4]["/Trans"] = Dictionary(S=Name.Dissolve)


@tamper("'a' stands")
def a_blank_page_written_on(pdf: Any, little: Any) -> None:
    blank = next(at for at, page in enumerate(little.original.laid.pages) if not page.marks)
    page = pdf.pages[blank]
    page.Resources = Dictionary(Font=Dictionary(F=Dictionary(Type=Name.Font, Subtype=Name.Type1,
                                                             BaseFont=Name.Helvetica)))
    _over(pdf, page, "BT /F 12 Tf 100 300 Td (a) Tj ET")


@tamper("is 0 % opaque")
def opacity_nought(pdf: Any, little: Any) -> None:
    page = _page(pdf, little, GridKind.ANSWER)
    _state(page, ca=0, CA=0)
    _under(pdf, page, "q /Odd gs", "Q")


@tamper("is 50 % opaque")
def half_opaque(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    _state(page, ca=0.5, CA=0.5)
    _under(pdf, page, "q /Odd gs", "Q")


@tamper("blended (Multiply)")
def multiplied(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    _state(page, BM=Name.Multiply)
    _under(pdf, page, "q /Odd gs", "Q")


@tamper("behind a mask")
def masked(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    group = pdf.make_stream(b"0.5 g 0 0 400 600 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 400, 600],
                            Group=Dictionary(S=Name.Transparency, CS=Name.DeviceGray))
    _state(page, SMask=Dictionary(Type=Name.Mask, S=Name.Luminosity, G=group))
    _under(pdf, page, "q /Odd gs", "Q")


@tamper("is overprinting")
def tints_overprinting(pdf: Any, little: Any) -> None:
    page = _page(pdf, little, GridKind.ANSWER)
    _state(page, op=True, OP=True, OPM=1)
    _under(pdf, page, "q /Odd gs", "Q")


@tamper("is on a layer that is off")
def a_layer_switched_off(pdf: Any, little: Any) -> None:
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("answers")))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary(OFF=[layer]))
    page = _page(pdf, little, GridKind.ANSWER)
    page.Resources["/Properties"] = Dictionary(L=layer)
    _under(pdf, page, "/OC /L BDC", "EMC")


@tamper("colours are printed lighter or darker than they are (TR)")
def a_transfer_function(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    _state(page, TR=Dictionary(FunctionType=2, Domain=[0, 1], C0=[1], C1=[0], N=1))
    _under(pdf, page, "q /Odd gs", "Q")


@tamper("plain colours are given another meaning (DefaultGray)")
def grey_made_red(pdf: Any, little: Any) -> None:
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1, 0, 0], C1=[1, 1, 1], N=1)
    _page(pdf, little).Resources["/ColorSpace"] = Dictionary(
        DefaultGray=Array([Name.Separation, Name("/Red"), Name.DeviceRGB, function]))


@tamper("is cut off by a clip")
def clipped_to_a_half(pdf: Any, little: Any) -> None:
    _under(pdf, _page(pdf, little), "q 0 0 200 600 re W n", "Q")


@tamper("a clip that is no rectangle may hide a part of the page")
def clipped_to_a_triangle(pdf: Any, little: Any) -> None:
    _under(pdf, _page(pdf, little), "q 0 0 m 420 0 l 0 596 l h W n", "Q")


# What shows: annotations.

def _note(pdf: Any, page: Any, **entries: Any) -> None:
    notes = page.get("/Annots", Array())
    notes.append(pdf.make_indirect(Dictionary(Type=Name.Annot, **entries)))
    page.Annots = notes


@tamper("there is one of the kind Stamp; the book has links alone")
def a_sum_covered_by_an_annotation(pdf: Any, little: Any) -> None:
    page, place = _page(pdf, little), little.grid(GridKind.PUZZLE, WINDOWS)
    x, y, side = _cell(page, place, Cell(1, 1))
    look = pdf.make_stream(b"1 g 0 0 10 10 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 10, 10])
    _note(pdf, page, Subtype=Name.Stamp, Rect=[x, y + side / 2, x + side / 2, y + side], AP=Dictionary(N=look))


@tamper("there is one of the kind Square; the book has links alone")
def a_square_without_a_look(pdf: Any, little: Any) -> None:
    _note(pdf, _page(pdf, little), Subtype=Name.Square, Rect=[50, 300, 100, 350], C=[1, 0, 0])


@tamper("there is one of the kind Highlight")
def a_highlight(pdf: Any, little: Any) -> None:
    _note(pdf, pdf.pages[4], Subtype=Name.Highlight, Rect=[50, 300, 100, 350], C=[1, 1, 0],
          QuadPoints=[50, 350, 100, 350, 50, 300, 100, 300])


@tamper("there is one of the kind FileAttachment")
def an_attachment_on_a_page(pdf: Any, little: Any) -> None:
    _note(pdf, pdf.pages[4], Subtype=Name.FileAttachment, Rect=[50, 300, 70, 320], Contents=String("see"))


@tamper("it has a form to fill in")
def a_field(pdf: Any, little: Any) -> None:
    field = pdf.make_indirect(Dictionary(Type=Name.Annot, Subtype=Name.Widget, FT=Name.Tx, T=String("name"),
                                         Rect=[50, 300, 150, 320]))
    pdf.pages[4].Annots = Array([*pdf.pages[4].get("/Annots", ()), field])
    pdf.Root.AcroForm = Dictionary(Fields=[field])


@tamper("a link has a border of 2 pt, which shows")
def a_link_framed(pdf: Any, little: Any) -> None:
    (note,) = _page(pdf, little).Annots
    note.Border = [0, 0, 2]


@tamper("a link paints something of its own")
def a_link_that_paints(pdf: Any, little: Any) -> None:
    (note,) = _page(pdf, little).Annots
    look = pdf.make_stream(b"0 0 10 10 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 10, 10])
    note.AP = Dictionary(N=look)


# What shows: what is painted.

@tamper("is in colour")
def answers_in_red(pdf: Any, little: Any) -> None:
    page = _page(pdf, little, GridKind.ANSWER)
    _recode(pdf, page, lambda code: [
        one for each in code for one in ([[[1, 0, 0], Operator("rg")], each] if str(each[1]) == "BT" else [each])])


@tamper("in the ink 'Gold'")
def a_title_in_a_spot_ink(pdf: Any, little: Any) -> None:
    page = pdf.pages[0]
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0.2, 0.8, 0.1], N=1)
    page.Resources["/ColorSpace"] = Dictionary(G=Array([Name.Separation, Name.Gold, Name.DeviceCMYK, function]))
    _recode(pdf, page, lambda code: [
        one for each in code for one in (
            [[[Name.G], Operator("cs")], [[1], Operator("scn")], each] if str(each[1]) == "BT" else [each])])


@tamper("is painted where nothing should")
def a_stroke(pdf: Any, little: Any) -> None:
    _over(pdf, pdf.pages[4], "0 G 1 w 100 100 m 200 110 l S")


@tamper("is painted where nothing should")
def a_dot(pdf: Any, little: Any) -> None:
    _over(pdf, _page(pdf, little), "0 G 1 J 3 w 100 60 m 100 60 l S")


@tamper("is painted where nothing should")
def a_dot_filled(pdf: Any, little: Any) -> None:
    _over(pdf, _page(pdf, little, GridKind.ANSWER), "0 g 100 60 1.5 1.5 re f")


@tamper("is painted where nothing should")
def a_curve(pdf: Any, little: Any) -> None:
    _over(pdf, _page(pdf, little), "0 G 1 w 100 100 m 120 160 160 160 180 100 c S")


@tamper("a picture")
def a_picture(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    page.Resources["/XObject"] = Dictionary(Im=_solid(pdf))
    _over(pdf, page, "60 0 0 60 100 100 cm /Im Do")


@tamper("a picture")
def a_picture_in_line(pdf: Any, little: Any) -> None:
    page = pdf.pages[4]
    content = _content(page)
    page.Contents = pdf.make_stream(content + b"\nq 20 0 0 20 90 90 cm BI /W 1 /H 1 /CS /G /BPC 8 ID \x40 EI Q")


@tamper("a shading")
def a_shading(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1], C1=[0.9], N=1)
    page.Resources["/Shading"] = Dictionary(S=Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray,
                                                         Coords=[0, 0, 400, 0], Function=function))
    _over(pdf, page, "100 20 50 50 re W n /S sh")


@tamper("in a pattern")
def a_pattern(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    cell = pdf.make_stream(b"0 g 0 0 1 1 re f", Type=Name.Pattern, PatternType=1, PaintType=1, TilingType=1,
                           BBox=[0, 0, 4, 4], XStep=4, YStep=4, Resources=Dictionary())
    page.Resources["/Pattern"] = Dictionary(P=cell)
    _over(pdf, page, "/Pattern cs /P scn 100 20 50 50 re f")


@tamper("is painted where nothing should")
def a_form_with_a_line(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    form = pdf.make_stream(b"0 0 m 50 0 l S", Type=Name.XObject, Subtype=Name.Form, BBox=[-9, -9, 99, 99])
    page.Resources["/XObject"] = Dictionary(Fm=form)
    _over(pdf, page, "1 0 0 1 90 40 cm /Fm Do")


@tamper("white, is painted where nothing should")
def a_white_patch_on_white_paper(pdf: Any, little: Any) -> None:
    _over(pdf, _page(pdf, little), "1 g 100 20 30 30 re f")


@tamper("is missing")
def a_fill_lost(pdf: Any, little: Any) -> None:
    _replace(pdf, pdf.pages[0], r"[\d.]+ [\d.]+ [\d.]+ [\d.]+ re f\*", "")


@tamper("is missing")
def a_fill_moved(pdf: Any, little: Any) -> None:
    _replace(pdf, pdf.pages[0], r"([\d.]+ [\d.]+ [\d.]+ [\d.]+ re f\*)", r"q 1 0 0 1 2 0 cm \1 Q")


@tamper("% dark; it should be")
def a_title_tint_changed(pdf: Any, little: Any) -> None:
    _replace(pdf, pdf.pages[0], r"\n0?\.9 g", "\n.8 g")


@tamper("% dark; it should be")
def a_diagram_tint_changed(pdf: Any, little: Any) -> None:
    page = _page(pdf, little, GridKind.STAGE, GIVEN)
    shade = re.search(rb"\n(0?\.\d+) g", _content(page))
    assert shade, "a diagram has a tint"
    _replace(pdf, page, re.escape(f"\n{shade[1].decode()} g"), f"\n{float(shade[1]) - 0.05:.3f} g", 0)


@tamper("% dark; it should be")
def a_grade_mark_lightened(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    _replace(pdf, page, r"([\d.]+ [\d.]+ m [\d.]+ [\d.]+ l [\d.]+ [\d.]+ l h f\*)", r"q .6 g \1 Q")


@tamper("(grade), is missing")
def a_grade_mark_lost(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), r"[\d.]+ [\d.]+ m [\d.]+ [\d.]+ l [\d.]+ [\d.]+ l h f\*", "")


def _dashed(page: Any) -> tuple[str, str]:
    """A page's dashes as they stand in its content."""
    found = re.search(rb"\[([\d.]+ [\d.]+)\] ([\d.]+) d", _content(page))
    assert found
    return found[1].decode(), found[2].decode()


@tamper("is dashed")
def one_dash_gone(pdf: Any, little: Any) -> None:
    """Every eighth one, by a longer pattern: on the first cage alone."""
    page = _page(pdf, little)
    dash, phase = _dashed(page)
    on, off = map(float, dash.split())
    longer = " ".join([dash] * 7) + f" 0 {on + off}"
    _replace(pdf, page, re.escape(f"[{dash}] {phase} d"), f"[{longer}] {phase} d")


@tamper("white, is painted where nothing should")
def one_dash_rubbed_out(pdf: Any, little: Any) -> None:
    page, place = _page(pdf, little), little.grid(GridKind.PUZZLE, WINDOWS)
    x, y, side = _cell(page, place, Cell(1, 2))
    _over(pdf, page, f"1 g {x + 0.5 * side} {y + 0.9 * side} 3.2 2 re f")


@tamper("is solid; it should be dashed")
def dashes_made_solid(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    dash, phase = _dashed(page)
    _replace(pdf, page, re.escape(f"[{dash}] {phase} d"), "[] 0 d")


@tamper("is dashed")
def dashes_shifted(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    dash, phase = _dashed(page)
    _replace(pdf, page, re.escape(f"[{dash}] {phase} d"), f"[{dash}] {float(phase) + 1.5} d")


@tamper("is 0.40 pt thick; it should be 0.60 pt")
def a_thinner_cage_line(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), r"\n0?\.6 w", "\n.4 w")


@tamper("is 0.80 pt thick; it should be")
def a_thicker_cell_line(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), r"\n0?\.35 w", "\n.8 w")


@tamper("round ends")
def round_ends(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), r"([\d.]+ [\d.]+ m [\d.]+ [\d.]+ l S)", r"q 1 J \1 Q")


@tamper("has blunt corners")
def blunt_corners(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), "0 j", "1 j")


@tamper("% dark; it should be solid")
def grey_lines(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), "0 G", ".4 G", 0)


@tamper("is missing")
def a_line_shortened(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), r"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S", r"\1 \2 m 120 \4 l S")


@tamper("is missing")
def a_line_lost(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), r"[\d.]+ [\d.]+ m [\d.]+ [\d.]+ l S", "")


@tamper("lies over what it should lie below")
def a_tint_over_its_lines(pdf: Any, little: Any) -> None:
    """The same things painted, a tint of the title page last."""
    content = _content(pdf.pages[0])
    tint = re.search(rb"[\d.]+ [\d.]+ [\d.]+ [\d.]+ re f\*", content)
    assert tint
    pdf.pages[0].Contents = pdf.make_stream(content.replace(tint[0], b"", 1) + b"\nq .9 g " + tint[0] + b" Q")


# What shows: letters.

def _text_at(code: list[Any], page: Any, x: float, y: float, side: float) -> int:
    """The operation that places the letters in a cell."""
    for at, (operands, operator) in enumerate(code):
        if str(operator) in ("Td", "Tm") and x <= float(operands[-2]) <= x + side \
                and y <= float(operands[-1]) <= y + side:
            return at
    raise AssertionError("no letters there")


def _turned(pdf: Any, little: Any, matrix: tuple[float, float, float, float], right: float = 0.0,
            up: float = 0.0) -> None:
    """A digit of an answer set in another matrix."""
    page, place = _page(pdf, little, GridKind.ANSWER), little.grid(GridKind.ANSWER, WINDOWS)
    where = _cell(page, place, Cell(3, 3))

    def turn(code: list[Any]) -> list[Any]:
        at = _text_at(code, page, *where)
        x, y = map(float, code[at][0][-2:])
        code[at] = [[*matrix, x + right, y + up], Operator("Tm")]
        return code

    _recode(pdf, page, turn)


@tamper("'4 (aslant)' stands where the digit 4 should")
def a_digit_mirrored(pdf: Any, little: Any) -> None:
    _turned(pdf, little, (-1, 0, 0, 1), right=5.5)


@tamper("'4 (aslant)' stands where the digit 4 should")
def a_digit_turned(pdf: Any, little: Any) -> None:
    _turned(pdf, little, (-1, 0, 0, -1), right=5.5, up=7.0)


@tamper("is stretched or squeezed")
def a_digit_squeezed(pdf: Any, little: Any) -> None:
    _turned(pdf, little, (0.8, 0, 0, 1), right=0.4)


@tamper("'8 (aslant)' stands where the sum 8 should")
def a_sum_slanted(pdf: Any, little: Any) -> None:
    place = little.grid(GridKind.PUZZLE, GIVEN)
    page = _page(pdf, little, puzzle=GIVEN)
    where = _cell(page, place, Cell(2, 1))

    def slant(code: list[Any]) -> list[Any]:
        at = _text_at(code, page, *where)
        code[at] = [[1, 0, 0.3, 1, *code[at][0][-2:]], Operator("Tm")]
        return code

    _recode(pdf, page, slant)


@tamper("pt large; it should be")
def a_label_ten_per_cent_larger(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    sizes = re.findall(rb"(/\S+) ([\d.]+) Tf", _content(page))
    name, size = min(sizes, key=lambda one: float(one[1]))
    _replace(pdf, page, re.escape(f"{name.decode()} {size.decode()} Tf"), f"{name.decode()} {float(size) * 1.1} Tf", 0)


@tamper("is set in another face")
def a_title_in_another_face(pdf: Any, little: Any) -> None:
    page = pdf.pages[0]
    sizes = re.findall(rb"(/\S+) ([\d.]+) Tf", _content(page))
    sans = next(str(name) for one in pdf.pages for name, font in one.Resources.get("/Font", {}).items()
                if str(font.BaseFont).endswith("SourceSansPro-Semibold"))
    name, size = max(sizes, key=lambda one: float(one[1]))
    (font,) = {id(one.Resources.Font[sans]): one.Resources.Font[sans] for one in pdf.pages
               if sans in one.Resources.get("/Font", {})}.popitem()[1:]
    page.Resources.Font["/Odd"] = font
    _replace(pdf, page, re.escape(f"{name.decode()} {size.decode()} Tf"), f"/Odd {size.decode()} Tf", 0)


@tamper("is in outline")
def letters_in_outline(pdf: Any, little: Any) -> None:
    _under(pdf, pdf.pages[6], "q 1 Tr", "Q")


@tamper("letters are set that leave no ink")
def letters_hidden_on_a_page(pdf: Any, little: Any) -> None:
    page = pdf.pages[6]
    face = re.search(rb"(/\S+) [\d.]+ Tf", _content(page))
    assert face
    _over(pdf, page, f"BT 3 Tr {face[1].decode()} 9 Tf 100 100 Td (answer) Tj ET")


@tamper("should stand")
def letters_spaced_out(pdf: Any, little: Any) -> None:
    _replace(pdf, pdf.pages[6], r"\[\(", "0.4 Tc [(", 0)


@tamper("should stand")
def a_word_moved(pdf: Any, little: Any) -> None:
    _replace(pdf, pdf.pages[6], r"([\d.]+) ([\d.]+) Td", r"\1 99 Td")


@tamper("60 % dark; it should be solid")
def words_in_grey(pdf: Any, little: Any) -> None:
    _recode(pdf, pdf.pages[6], lambda code: [
        one for each in code for one in ([[[0.4], Operator("g")], each] if str(each[1]) == "BT" else [each])])


@tamper("stands")
def a_folio_twice(pdf: Any, little: Any) -> None:
    page = _page(pdf, little)
    last = re.findall(rb"BT.*?ET", _content(page))[-1].decode("latin-1")
    face = re.findall(rb"/\S+ [\d.]+ Tf", _content(page))[-1].decode()
    page.Contents = pdf.make_stream(_content(page) + f"\nq {face} 1 0 0 1 0 12 cm {last} Q".encode("latin-1"))


@tamper("stands")
def white_letters_on_white_paper(pdf: Any, little: Any) -> None:
    page = pdf.pages[6]
    face = re.search(rb"(/\S+) [\d.]+ Tf", _content(page))
    assert face
    _over(pdf, page, f"1 g BT {face[1].decode()} 9 Tf 100 100 Td (answer) Tj ET")


def _glyphs(pdf: Any, change: Callable[[Any, str], None]) -> None:
    """The glyph of the figure 5 changed in every sans font."""
    for one in pdf.objects:
        if isinstance(one, Dictionary) and one.get("/Type") == "/Font" and "Sans" in str(one.BaseFont):
            program = TTFont(io.BytesIO(one.FontDescriptor.FontFile2.read_bytes()))
            (table,) = program["cmap"].tables
            if ord("5") in table.cmap:
                change(program, table.cmap[ord("5")])
                out = io.BytesIO()
                program.save(out)
                one.FontDescriptor.FontFile2.write(out.getvalue())


@tamper("the digit 5 does not stand where it should")
def a_figure_emptied(pdf: Any, little: Any) -> None:
    def empty(program: Any, name: str) -> None:
        program["glyf"][name] = program["glyf"][".notdef"].__class__()

    _glyphs(pdf, empty)


@tamper("stands where the digit 5 should")
def a_figure_raised(pdf: Any, little: Any) -> None:
    def squash(program: Any, name: str) -> None:
        coordinates = program["glyf"][name].coordinates
        for at, (x, y) in enumerate(coordinates):
            coordinates[at] = x, y // 2

    _glyphs(pdf, squash)


@tamper("should stand")
def widths_changed(pdf: Any, little: Any) -> None:
    for one in pdf.objects:
        if isinstance(one, Dictionary) and one.get("/Type") == "/Font" and "/Widths" in one:
            one.Widths = Array([float(width) * 1.1 for width in one.Widths])


# What does not show: tags.

def _elements(pdf: Any, kind: str) -> list[Any]:
    return [one for one in pdf.Root.StructTreeRoot.K.K if one.S == f"/{kind}"]


@tamper("in place of a figure 'nothing' is read aloud")
def alternative_text_changed(pdf: Any, little: Any) -> None:
    _elements(pdf, "Figure")[1].Alt = String("nothing")


@tamper("in place of a figure '' is read aloud")
def alternative_text_lost(pdf: Any, little: Any) -> None:
    del _elements(pdf, "Figure")[1]["/Alt"]


@tamper("in place of a link 'elsewhere' is read aloud")
def a_link_told_otherwise(pdf: Any, little: Any) -> None:
    _elements(pdf, "Link")[0].Alt = String("elsewhere")


@tamper("a paragraph is tagged as 'Artifact'")
def a_paragraph_passed_over(pdf: Any, little: Any) -> None:
    _elements(pdf, "P")[0].S = Name.Artifact


@tamper("a paragraph says something else to those who hear it (/ActualText)")
def a_paragraph_told_otherwise(pdf: Any, little: Any) -> None:
    _elements(pdf, "P")[2].ActualText = String("quite another thing")


@tamper("tags: the file has none")
def tags_lost(pdf: Any, little: Any) -> None:
    del pdf.Root["/StructTreeRoot"]


@tamper("does not say that it has them")
def tags_not_owned_to(pdf: Any, little: Any) -> None:
    del pdf.Root["/MarkInfo"]


@tamper("they are given another meaning (RoleMap)")
def tags_renamed(pdf: Any, little: Any) -> None:
    pdf.Root.StructTreeRoot.RoleMap = Dictionary(P=Name.NonStruct)


@tamper("the pages are not read in their order")
def pages_told_in_another_order(pdf: Any, little: Any) -> None:
    pdf.Root.StructTreeRoot.K.K = Array(list(pdf.Root.StructTreeRoot.K.K)[::-1])


@tamper("tags: there are 0; there should be")
def tags_of_a_page_lost(pdf: Any, little: Any) -> None:
    del _page(pdf, little)["/StructParents"]


@tamper("the page's content is not marked as it should be")
def content_marked_otherwise(pdf: Any, little: Any) -> None:
    _replace(pdf, _page(pdf, little), "/MCID 1", "/MCID 0")


@tamper("is of something else")
def two_tags_exchanged(pdf: Any, little: Any) -> None:
    one, other = [one for one in _elements(pdf, "P") if one.Pg == _anchored(pdf, little, "how").obj][:2]
    one.K, other.K = other.K, one.K


@tamper("the extent of a figure is another than it is drawn in")
def a_figures_extent(pdf: Any, little: Any) -> None:
    next(one for one in _elements(pdf, "Figure") if "/A" in one).A.BBox = [0, 0, 10, 10]


# What does not show: the file.

@tamper("'5' is copied as '6'")
def letters_copied_as_others(pdf: Any, little: Any) -> None:
    for one in pdf.objects:
        if isinstance(one, Dictionary) and one.get("/Type") == "/Font" and "/ToUnicode" in one:
            one.ToUnicode.write(one.ToUnicode.read_bytes().replace(b"<35> <0035>", b"<35> <0036>"))


@tamper("does not say what its letters are")
def letters_not_to_be_copied(pdf: Any, little: Any) -> None:
    font = next(iter(pdf.pages[6].Resources.Font.values()))
    del font["/ToUnicode"]


@tamper("its language is 'fr'; it should be 'en'")
def another_language(pdf: Any, little: Any) -> None:
    pdf.Root.Lang = String("fr")


@tamper("its language is ''; it should be 'en'")
def no_language(pdf: Any, little: Any) -> None:
    del pdf.Root["/Lang"]


@tamper("its title is 'Another'; it should be 'Platform 9'")
def another_title(pdf: Any, little: Any) -> None:
    pdf.docinfo["/Title"] = "Another"


@tamper("its author is 'Nobody'; it should be ''")
def another_author(pdf: Any, little: Any) -> None:
    pdf.docinfo["/Author"] = "Nobody"


@tamper("it says something of itself that the book does not (/Secret)")
def a_secret(pdf: Any, little: Any) -> None:
    pdf.docinfo["/Secret"] = "twenty-three"


@tamper("its metadata name the title 'Another'")
def another_title_in_the_metadata(pdf: Any, little: Any) -> None:
    with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as metadata:
        metadata["dc:title"] = "Another"


@tamper("it runs JavaScript")
def a_script(pdf: Any, little: Any) -> None:
    pdf.Root.Names = Dictionary(JavaScript=Dictionary(Names=[String("a"), Dictionary(S=Name.JavaScript,
                                                                                    JS=String("app.beep()"))]))


@tamper("it does something when it is opened")
def a_script_at_opening(pdf: Any, little: Any) -> None:
    pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=String("app.beep()"))


@tamper("it has an entry /AA")
def a_script_on_a_page(pdf: Any, little: Any) -> None:
    pdf.pages[4].AA = Dictionary(O=Dictionary(S=Name.JavaScript, JS=String("app.beep()")))


@tamper("a link does something besides leading to a page (/AA)")
def a_script_on_a_link(pdf: Any, little: Any) -> None:
    (note,) = _page(pdf, little).Annots
    note.AA = Dictionary(E=Dictionary(S=Name.JavaScript, JS=String("app.beep()")))


@tamper("it has files attached")
def a_file_attached(pdf: Any, little: Any) -> None:
    pdf.attachments["a.txt"] = b"twenty-three"


@tamper("it has layers")
def layers_that_hold_nothing(pdf: Any, little: Any) -> None:
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("none")))
    pdf.Root.OCProperties = Dictionary(OCGs=[layer], D=Dictionary())


@tamper("it numbers its pages in a way of its own")
def pages_numbered_otherwise(pdf: Any, little: Any) -> None:
    pdf.Root.PageLabels = Dictionary(Nums=[0, Dictionary(S=Name.r)])


@tamper("it opens in the mode FullScreen")
def full_screen(pdf: Any, little: Any) -> None:
    pdf.Root.PageMode = Name.FullScreen


@tamper("it says how it is to be shown or printed (/Direction)")
def read_from_right_to_left(pdf: Any, little: Any) -> None:
    pdf.Root.ViewerPreferences.Direction = Name.R2L


@tamper("bookmarks: 'Elsewhere' stands where")
def a_bookmark_renamed(pdf: Any, little: Any) -> None:
    pdf.Root.Outlines.First.Title = String("Elsewhere")


@tamper("bookmarks: there are 0")
def bookmarks_lost(pdf: Any, little: Any) -> None:
    del pdf.Root["/Outlines"]


@tamper("it names a printing condition")
def a_printing_condition(pdf: Any, little: Any) -> None:
    pdf.Root.OutputIntents = Array([Dictionary(Type=Name.OutputIntent, S=Name.GTS_PDFX,
                                               OutputConditionIdentifier=String("FOGRA51"))])


@pytest.mark.parametrize("name", TAMPERS)
def test_a_tampered_file_is_told(name: str, little: Any) -> None:
    change, said = TAMPERS[name]
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(little.data)) as pdf:
        change(pdf, little)
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    told = little.told(out.getvalue())
    assert any(said in line for line in told), told


def test_the_tampers_are_as_many_as_they_should_be() -> None:
    assert len(TAMPERS) >= 100


def test_an_encrypted_file_is_told(little: Any) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(little.data)) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(owner="o", user="", R=4, aes=False, metadata=False))
    assert "file: it is encrypted" in little.told(out.getvalue())


