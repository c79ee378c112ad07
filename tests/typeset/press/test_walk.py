"""Where the walker says things are, against pdfium, which reads the same pages its own way."""

from __future__ import annotations

from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pikepdf import Dictionary, Name, Stream

from cagework.typeset.reader.document import read_document
from cagework.typeset.reader.geometry import Matrix
from cagework.typeset.reader.paint import PaintKind


def test_lines_of_text_end_where_pdfium_ends_them(built: Any) -> None:
    """Each page's text, from the leftmost letter to the end of the rightmost, to within letters' side bearings."""
    data = built.press.read_bytes()
    document, other = read_document(data), pypdfium2.PdfDocument(data)
    checked = 0
    for sheet in document.sheets:
        texts = [paint for paint in sheet.paints if paint.kind is PaintKind.TEXT]
        page = other[sheet.number - 1].get_textpage()
        boxes = [page.get_charbox(n) for n in range(page.count_chars()) if page.get_text_range(n, 1).strip()]
        if texts and boxes:
            assert min(paint.box.left for paint in texts) == pytest.approx(min(box[0] for box in boxes), abs=2)
            assert max(paint.box.right for paint in texts) == pytest.approx(max(box[2] for box in boxes), abs=2)
            checked += 1
    assert checked > 20


def test_strokes_and_fills_lie_where_pdfium_finds_them(clean: bytes) -> None:
    document, other = read_document(clean), pypdfium2.PdfDocument(clean)
    for sheet in document.sheets:
        ours = [paint for paint in sheet.paints if paint.kind in (PaintKind.FILL, PaintKind.STROKE)]
        theirs = [item for item in other[sheet.number - 1].get_objects() if item.type == pdfium.FPDF_PAGEOBJ_PATH]
        assert len(ours) == len(theirs)
        for mine, item in zip(ours, theirs, strict=True):
            left, low, right, top = item.get_bounds()
            edges = (mine.box.left, mine.box.low, mine.box.right, mine.box.top)
            assert edges == pytest.approx((left, low, right, top), abs=1.5)


@given(st.tuples(*[st.floats(-9, 9)] * 4))
def test_a_unit_becomes_at_the_least_the_smaller_singular_value(parts: tuple[float, float, float, float]) -> None:
    """By numpy's decomposition, which works it out another way."""
    least = np.linalg.svd(np.array(parts).reshape(2, 2), compute_uv=False)[-1]
    assert Matrix(*parts).least == pytest.approx(least, abs=1e-6)


@pytest.mark.parametrize("turn", [(50, 0, 0, 25), (0, 50, -25, 0), (30, 40, -15, 20)])
def test_resolution_is_that_of_the_image_however_turned(
    turn: tuple[float, ...], clean: bytes, altered: Any,
) -> None:
    """An image of 200 x 80 pixels on 50 x 25 pt, flat, turned by a quarter, and aslant (a 3-4-5 triangle):
    288 ppi across and 230.4 up. pdfium measures upright images alike.
    """
    def put(pdf: Any) -> None:
        image = Stream(pdf, bytes(200 * 80), Type=Name.XObject, Subtype=Name.Image, Width=200, Height=80,
                       BitsPerComponent=8, ColorSpace=Name.DeviceGray)
        pdf.pages[0].Resources.XObject = Dictionary(Im=pdf.make_indirect(image))
        pdf.pages[0].contents_add(f"q {' '.join(map(str, turn))} 200 200 cm /Im Do Q".encode())

    data = altered(clean, put)
    (ours,) = (paint for paint in read_document(data).sheets[0].paints if paint.kind is PaintKind.IMAGE)
    (theirs,) = (item for item in pypdfium2.PdfDocument(data)[0].get_objects()
                 if item.type == pdfium.FPDF_PAGEOBJ_IMAGE)
    seen = theirs.get_metadata()
    assert ours.ppi == pytest.approx(80 / (25 / 72))
    if turn[1] == 0:
        assert (seen.horizontal_dpi, seen.vertical_dpi) == pytest.approx((288, ours.ppi))


def test_operators_of_text_move_the_pen(clean: bytes, altered: Any) -> None:
    """ISO 32000-1, 9.4.2 and 9.4.3; TJ's numbers are thousandths of an em, subtracted."""
    def starts(code: str) -> list[tuple[float, float]]:
        def put(pdf: Any) -> None:
            font = next(iter(pdf.pages[0].Resources.Font.keys()))
            pdf.pages[0].contents_add(code.replace("/F", font).encode())

        before = len(read_document(clean).sheets[0].paints)
        return [(paint.box.left, paint.box.low)
                for paint in read_document(altered(clean, put)).sheets[0].paints[before:]]

    assert starts("BT /F 10 Tf 100 100 Td (a) Tj [-500 (b)] TJ ET")[1][0] == pytest.approx(
        starts("BT /F 10 Tf 100 100 Td (a) Tj [0 (b)] TJ ET")[1][0] + 5)
    assert starts("BT /F 10 Tf 14 TL 100 100 Td (a) Tj T* (b) Tj (c) ' ET") == [(100, 100), (100, 86), (100, 72)]
    assert starts("BT /F 10 Tf 2 0 0 2 100 100 Tm 10 20 Td (a) Tj ET") == [(120, 140)]
    assert starts("q 2 0 0 2 0 0 cm BT /F 10 Tf 50 60 Td 3 Ts (a) Tj ET Q") == [(100, 126)]


def test_matrices_multiply_in_the_order_of_the_standard() -> None:
    """ISO 32000-1, 8.3.4: the new matrix comes first; against pikepdf's."""
    first, second = (2.0, 0.5, -1.0, 3.0, 7.0, -4.0), (0.5, 1.0, 2.0, -1.0, 10.0, 20.0)
    ours = Matrix(*first).then(Matrix(*second))
    theirs = pikepdf.Matrix(first) @ pikepdf.Matrix(second)
    assert (ours.a, ours.b, ours.c, ours.d, ours.e, ours.f) == pytest.approx(theirs.shorthand)


def test_the_least_scale_of_a_slanted_matrix_is_its_smaller_singular_value() -> None:
    """[[1, 1], [0, 1]] has singular values 1.618... and 0.618..., the golden ratio and its inverse."""
    assert Matrix(1, 0, 1, 1).least == pytest.approx((5 ** 0.5 - 1) / 2)


def test_outlined_letters_have_the_weight_of_the_line_and_unseen_ones_none(clean: bytes, altered: Any) -> None:
    """Render mode 1 strokes text with the line width (ISO 32000-1, table 106)."""
    def put(pdf: Any) -> None:
        font = next(iter(pdf.pages[0].Resources.Font.keys()))
        pdf.pages[0].contents_add(f"q 0.1 w BT {font} 20 Tf 1 Tr 200 200 Td (a) Tj 3 Tr (b) Tj ET Q".encode())

    before = len(read_document(clean).sheets[0].paints)
    (text,) = read_document(altered(clean, put)).sheets[0].paints[before:]
    assert (text.kind, text.weight, text.size) == (PaintKind.TEXT, pytest.approx(0.1), pytest.approx(20))


def test_damage_that_could_be_mended_is_told(clean: bytes) -> None:
    assert read_document(clean).damage == ""
    mended = read_document(clean.replace(b"startxref\n", b"startxref\n9"))
    assert mended.damage
    assert len(mended.sheets) == 4
