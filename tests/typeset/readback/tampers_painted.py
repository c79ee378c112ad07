"""What shows: lines, areas and pictures."""

from __future__ import annotations

import re
from typing import Any

from pikepdf import Array, Dictionary, Name, Operator
from tampering import GIVEN, WINDOWS, cell, content_of, over, page_of, recode, replace, solid, tamper

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind


@tamper("is in colour")
def answers_in_red(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little, GridKind.ANSWER)
    recode(pdf, page, lambda code: [
        one for each in code for one in ([[[1, 0, 0], Operator("rg")], each] if str(each[1]) == "BT" else [each])])


@tamper("in the ink 'Gold'")
def a_title_in_a_spot_ink(pdf: Any, little: Any) -> None:
    page = pdf.pages[0]
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0.2, 0.8, 0.1], N=1)
    page.Resources["/ColorSpace"] = Dictionary(G=Array([Name.Separation, Name.Gold, Name.DeviceCMYK, function]))
    recode(pdf, page, lambda code: [
        one for each in code for one in (
            [[[Name.G], Operator("cs")], [[1], Operator("scn")], each] if str(each[1]) == "BT" else [each])])


@tamper("is painted where nothing should")
def a_stroke(pdf: Any, little: Any) -> None:
    over(pdf, pdf.pages[4], "0 G 1 w 100 100 m 200 110 l S")


@tamper("is painted where nothing should")
def a_dot(pdf: Any, little: Any) -> None:
    over(pdf, page_of(pdf, little), "0 G 1 J 3 w 100 60 m 100 60 l S")


@tamper("is painted where nothing should")
def a_dot_filled(pdf: Any, little: Any) -> None:
    over(pdf, page_of(pdf, little, GridKind.ANSWER), "0 g 100 60 1.5 1.5 re f")


@tamper("is painted where nothing should")
def a_curve(pdf: Any, little: Any) -> None:
    over(pdf, page_of(pdf, little), "0 G 1 w 100 100 m 120 160 160 160 180 100 c S")


@tamper("a picture")
def a_picture(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    page.Resources["/XObject"] = Dictionary(Im=solid(pdf))
    over(pdf, page, "60 0 0 60 100 100 cm /Im Do")


@tamper("a picture")
def a_picture_in_line(pdf: Any, little: Any) -> None:
    page = pdf.pages[4]
    content = content_of(page)
    page.Contents = pdf.make_stream(content + b"\nq 20 0 0 20 90 90 cm BI /W 1 /H 1 /CS /G /BPC 8 ID \x40 EI Q")


@tamper("a shading")
def a_shading(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[1], C1=[0.9], N=1)
    page.Resources["/Shading"] = Dictionary(S=Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray,
                                                         Coords=[0, 0, 400, 0], Function=function))
    over(pdf, page, "100 20 50 50 re W n /S sh")


@tamper("in a pattern")
def a_pattern(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    cell = pdf.make_stream(b"0 g 0 0 1 1 re f", Type=Name.Pattern, PatternType=1, PaintType=1, TilingType=1,
                           BBox=[0, 0, 4, 4], XStep=4, YStep=4, Resources=Dictionary())
    page.Resources["/Pattern"] = Dictionary(P=cell)
    over(pdf, page, "/Pattern cs /P scn 100 20 50 50 re f")


@tamper("is painted where nothing should")
def a_form_with_a_line(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    form = pdf.make_stream(b"0 0 m 50 0 l S", Type=Name.XObject, Subtype=Name.Form, BBox=[-9, -9, 99, 99])
    page.Resources["/XObject"] = Dictionary(Fm=form)
    over(pdf, page, "1 0 0 1 90 40 cm /Fm Do")


@tamper("white, is painted where nothing should")
def a_white_patch_on_white_paper(pdf: Any, little: Any) -> None:
    over(pdf, page_of(pdf, little), "1 g 100 20 30 30 re f")


@tamper("is missing")
def a_fill_lost(pdf: Any, little: Any) -> None:
    replace(pdf, pdf.pages[0], r"[\d.]+ [\d.]+ [\d.]+ [\d.]+ re f\*", "")


@tamper("is missing")
def a_fill_moved(pdf: Any, little: Any) -> None:
    replace(pdf, pdf.pages[0], r"([\d.]+ [\d.]+ [\d.]+ [\d.]+ re f\*)", r"q 1 0 0 1 2 0 cm \1 Q")


@tamper("% dark; it should be")
def a_title_tint_changed(pdf: Any, little: Any) -> None:
    replace(pdf, pdf.pages[0], r"\n0?\.9 g", "\n.8 g")


@tamper("% dark; it should be")
def a_diagram_tint_changed(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little, GridKind.STAGE, GIVEN)
    shade = re.search(rb"\n(0?\.\d+) g", content_of(page))
    assert shade, "a diagram has a tint"
    replace(pdf, page, re.escape(f"\n{shade[1].decode()} g"), f"\n{float(shade[1]) - 0.05:.3f} g", 0)


@tamper("% dark; it should be")
def a_grade_mark_lightened(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    replace(pdf, page, r"([\d.]+ [\d.]+ m [\d.]+ [\d.]+ l [\d.]+ [\d.]+ l h f\*)", r"q .6 g \1 Q")


@tamper("(grade), is missing")
def a_grade_mark_lost(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), r"[\d.]+ [\d.]+ m [\d.]+ [\d.]+ l [\d.]+ [\d.]+ l h f\*", "")


def _dashed(page: Any) -> tuple[str, str]:
    """A page's dashes as they stand in its content."""
    found = re.search(rb"\[([\d.]+ [\d.]+)\] ([\d.]+) d", content_of(page))
    assert found
    return found[1].decode(), found[2].decode()


@tamper("is dashed")
def one_dash_gone(pdf: Any, little: Any) -> None:
    """Every eighth one, by a longer pattern: on the first cage alone."""
    page = page_of(pdf, little)
    dash, phase = _dashed(page)
    on, off = map(float, dash.split())
    longer = " ".join([dash] * 7) + f" 0 {on + off}"
    replace(pdf, page, re.escape(f"[{dash}] {phase} d"), f"[{longer}] {phase} d")


@tamper("white, is painted where nothing should")
def one_dash_rubbed_out(pdf: Any, little: Any) -> None:
    page, place = page_of(pdf, little), little.grid(GridKind.PUZZLE, WINDOWS)
    x, y, side = cell(page, place, Cell(1, 2))
    over(pdf, page, f"1 g {x + 0.5 * side} {y + 0.9 * side} 3.2 2 re f")


@tamper("is solid; it should be dashed")
def dashes_made_solid(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    dash, phase = _dashed(page)
    replace(pdf, page, re.escape(f"[{dash}] {phase} d"), "[] 0 d")


@tamper("is dashed")
def dashes_shifted(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    dash, phase = _dashed(page)
    replace(pdf, page, re.escape(f"[{dash}] {phase} d"), f"[{dash}] {float(phase) + 1.5} d")


@tamper("is 0.40 pt thick; it should be 0.60 pt")
def a_thinner_cage_line(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), r"\n0?\.6 w", "\n.4 w")


@tamper("is 0.80 pt thick; it should be")
def a_thicker_cell_line(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), r"\n0?\.35 w", "\n.8 w")


@tamper("round ends")
def round_ends(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), r"([\d.]+ [\d.]+ m [\d.]+ [\d.]+ l S)", r"q 1 J \1 Q")


@tamper("has blunt corners")
def blunt_corners(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), "0 j", "1 j")


@tamper("% dark; it should be solid")
def grey_lines(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), "0 G", ".4 G", 0)


@tamper("is missing")
def a_line_shortened(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), r"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S", r"\1 \2 m 120 \4 l S")


@tamper("is missing")
def a_line_lost(pdf: Any, little: Any) -> None:
    replace(pdf, page_of(pdf, little), r"[\d.]+ [\d.]+ m [\d.]+ [\d.]+ l S", "")


@tamper("lies over what it should lie below")
def a_tint_over_its_lines(pdf: Any, little: Any) -> None:
    """The same things painted, a tint of the title page last."""
    content = content_of(pdf.pages[0])
    tint = re.search(rb"[\d.]+ [\d.]+ [\d.]+ [\d.]+ re f\*", content)
    assert tint
    pdf.pages[0].Contents = pdf.make_stream(content.replace(tint[0], b"", 1) + b"\nq .9 g " + tint[0] + b" Q")
