"""What shows: letters."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

from fontTools.ttLib import TTFont
from pikepdf import Array, Dictionary, Operator
from tampering import GIVEN, WINDOWS, cell, content_of, over, page_of, recode, replace, tamper, under

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind


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
    page, place = page_of(pdf, little, GridKind.ANSWER), little.grid(GridKind.ANSWER, WINDOWS)
    where = cell(page, place, Cell(3, 3))

    def turn(code: list[Any]) -> list[Any]:
        at = _text_at(code, page, *where)
        x, y = map(float, code[at][0][-2:])
        code[at] = [[*matrix, x + right, y + up], Operator("Tm")]
        return code

    recode(pdf, page, turn)


@tamper("'4 (aslant)' stands where the digit 4 should")
def a_digit_mirrored(pdf: Any, little: Any) -> None:
    _turned(pdf, little, (-1, 0, 0, 1), right=5.5)


@tamper("'4 (upside down)' stands where the digit 4 should")
def a_digit_turned(pdf: Any, little: Any) -> None:
    _turned(pdf, little, (-1, 0, 0, -1), right=5.5, up=7.0)


@tamper("is 7.18 pt large; it should be 8.97 pt")
def a_digit_squeezed(pdf: Any, little: Any) -> None:
    _turned(pdf, little, (0.8, 0, 0, 1), right=0.4)


@tamper("is stretched or squeezed")
def a_digit_stretched(pdf: Any, little: Any) -> None:
    _turned(pdf, little, (1.2, 0, 0, 1), right=-0.4)


@tamper("'8 (aslant)' stands where the sum 8 should")
def a_sum_slanted(pdf: Any, little: Any) -> None:
    place = little.grid(GridKind.PUZZLE, GIVEN)
    page = page_of(pdf, little, puzzle=GIVEN)
    where = cell(page, place, Cell(2, 1))

    def slant(code: list[Any]) -> list[Any]:
        at = _text_at(code, page, *where)
        code[at] = [[1, 0, 0.3, 1, *code[at][0][-2:]], Operator("Tm")]
        return code

    recode(pdf, page, slant)


@tamper("pt large; it should be")
def a_label_ten_per_cent_larger(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    sizes = re.findall(rb"(/\S+) ([\d.]+) Tf", content_of(page))
    name, size = min(sizes, key=lambda one: float(one[1]))
    larger = f"{name.decode()} {float(size) * 1.1} Tf"
    replace(pdf, page, re.escape(f"{name.decode()} {size.decode()} Tf"), larger, 0)


@tamper("is set in another face")
def a_title_in_another_face(pdf: Any, little: Any) -> None:
    page = pdf.pages[0]
    sizes = re.findall(rb"(/\S+) ([\d.]+) Tf", content_of(page))
    sans = next(str(name) for one in pdf.pages for name, font in one.Resources.get("/Font", {}).items()
                if str(font.BaseFont).endswith("SourceSansPro-Semibold"))
    name, size = max(sizes, key=lambda one: float(one[1]))
    (font,) = {id(one.Resources.Font[sans]): one.Resources.Font[sans] for one in pdf.pages
               if sans in one.Resources.get("/Font", {})}.popitem()[1:]
    page.Resources.Font["/Odd"] = font
    replace(pdf, page, re.escape(f"{name.decode()} {size.decode()} Tf"), f"/Odd {size.decode()} Tf", 0)


@tamper("is in outline")
def letters_in_outline(pdf: Any, little: Any) -> None:
    under(pdf, pdf.pages[6], "q 1 Tr", "Q")


@tamper("letters are set that leave no ink")
def letters_hidden_on_a_page(pdf: Any, little: Any) -> None:
    page = pdf.pages[6]
    face = re.search(rb"(/\S+) [\d.]+ Tf", content_of(page))
    assert face
    over(pdf, page, f"BT 3 Tr {face[1].decode()} 9 Tf 100 100 Td (answer) Tj ET")


@tamper("should stand")
def letters_spaced_out(pdf: Any, little: Any) -> None:
    replace(pdf, pdf.pages[6], r"\[\(", "0.4 Tc [(", 0)


@tamper("should stand")
def a_word_moved(pdf: Any, little: Any) -> None:
    replace(pdf, pdf.pages[6], r"([\d.]+) ([\d.]+) Td", r"\1 99 Td")


@tamper("60 % dark; it should be solid")
def words_in_grey(pdf: Any, little: Any) -> None:
    recode(pdf, pdf.pages[6], lambda code: [
        one for each in code for one in ([[[0.4], Operator("g")], each] if str(each[1]) == "BT" else [each])])


@tamper("stands")
def a_folio_twice(pdf: Any, little: Any) -> None:
    page = page_of(pdf, little)
    last = re.findall(rb"BT.*?ET", content_of(page))[-1].decode("latin-1")
    face = re.findall(rb"/\S+ [\d.]+ Tf", content_of(page))[-1].decode()
    page.Contents = pdf.make_stream(content_of(page) + f"\nq {face} 1 0 0 1 0 12 cm {last} Q".encode("latin-1"))


@tamper("stands")
def white_letters_on_white_paper(pdf: Any, little: Any) -> None:
    page = pdf.pages[6]
    face = re.search(rb"(/\S+) [\d.]+ Tf", content_of(page))
    assert face
    over(pdf, page, f"1 g BT {face[1].decode()} 9 Tf 100 100 Td (answer) Tj ET")


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
