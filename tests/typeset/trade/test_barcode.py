"""Barcodes against an encoder and a reader from outside (zxing-cpp), and against published dimensions."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st

from cagework.typeset.marks import MM, Fill, Page, Text, flatten
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.trade.barcode import Barcode, BarcodeSymbol, draw_barcode, ean5, ean5_check, ean13
from cagework.typeset.trade.isbn import bare, check_digit
from cagework.typeset.write.pdf import About, pdf_bytes

ISBN = "978-3-16-148410-0"


def modules(symbol: BarcodeSymbol) -> str:
    dark = {bar.start + n for bar in symbol.bars for n in range(bar.width)}
    return "".join("1" if n in dark else "0" for n in range(symbol.width))


@given(st.integers(0, 10**12 - 1))
def test_the_modules_of_an_ean13_are_those_of_another_encoder(number: int) -> None:
    digits = f"{number:012d}"
    digits += check_digit(digits)
    made = zxingcpp.create_barcode(digits, zxingcpp.BarcodeFormat.EAN13)
    row = np.array(made.to_image(scale=1, add_hrt=False, add_quiet_zones=False))[0]
    assert modules(ean13(digits)) == "".join("1" if value < 128 else "0" for value in row)


def test_the_worked_example_of_an_ean5() -> None:
    """EAN-5 article of Wikipedia, 2018: 52495 has the check 141 mod 10 = 1, so GLGLL; and 05415 the check 1."""
    assert ean5_check("52495") == 1
    assert modules(ean5("52495")) == "01011" "0111001" "01" "0010011" "01" "0011101" "01" "0001011" "01" "0110001"
    assert ean5_check("05415") == 1


def drawn(code: Barcode, fonts: Fonts) -> bytes:
    page = Page(code.width + 40, code.height + 40, (draw_barcode(code, 20, 20, fonts),))
    return pdf_bytes((page,), (), About("t", "", "", "en"), fonts)


def read(pdf: bytes, with_addition: bool = False) -> list[str]:
    image = pypdfium2.PdfDocument(pdf)[0].render(scale=300 / 72).to_pil()
    asked = zxingcpp.EanAddOnSymbol.Require if with_addition else zxingcpp.EanAddOnSymbol.Ignore
    return [found.text for found in zxingcpp.read_barcodes(image, ean_add_on_symbol=asked)]


@pytest.mark.parametrize("magnification", [80, 100, 150, 200])
@pytest.mark.parametrize("addition", [None, "52495", "90000", "00000", "98765"])
@pytest.mark.parametrize("isbn", [ISBN, "978-0-306-40615-7", "979-10-90636-07-1"])
def test_a_reader_gets_the_number_back(isbn: str, addition: str | None, magnification: int, fonts: Fonts) -> None:
    """At 300 dpi, from the PDF."""
    pdf = drawn(Barcode(isbn, addition, magnification), fonts)
    assert read(pdf) == [bare(isbn)]
    assert read(pdf, with_addition=True) == ([bare(isbn) + addition] if addition else [])


def test_the_reader_refuses_a_symbol_with_one_bar_gone(fonts: Fonts) -> None:
    code = Barcode(ISBN)
    bars = list(bars_of(code, fonts))
    page = Page(code.width + 40, code.height + 40, tuple(bars[:20] + bars[21:]))
    assert read(pdf_bytes((page,), (), About("t", "", "", "en"), fonts)) == []


def bars_of(code: Barcode, fonts: Fonts) -> Iterator[Fill]:
    yield from (mark for mark in flatten((draw_barcode(code, 20, 20, fonts),))
                if isinstance(mark, Fill) and mark.ink == 1.0)


def edges(fill: Fill) -> tuple[float, float, float, float]:
    xs, ys = zip(*fill.rings[0], strict=True)
    return min(xs), min(ys), max(xs), max(ys)


# GS1 General Specifications, as gs1.se's size guide and gs1ie.org state them: X 0.264, 0.330 and 0.660 mm; bars
# 18.28, 22.85 and 45.70 mm high; quiet zones of 11 and 7 X; 37.29 mm wide at 100 %.
@pytest.mark.parametrize(("magnification", "x", "high"), [
    (80, 0.264, 18.28), (100, 0.330, 22.85), (200, 0.660, 45.70)])
def test_dimensions_are_those_of_gs1(magnification: int, x: float, high: float, fonts: Fonts) -> None:
    code = Barcode(ISBN, None, magnification)
    bars = [edges(bar) for bar in bars_of(code, fonts)]
    assert min(right - left for left, _, right, _ in bars) / MM == pytest.approx(x)
    heights = sorted({round((low - top) / MM, 3) for _, top, _, low in bars})
    assert heights[0] == pytest.approx(high, abs=0.001)
    assert heights[1] - heights[0] == pytest.approx(5 * x, abs=0.002), "help.seagullscientific.com: 0.065 in"
    assert len(heights) == 2
    assert code.width / MM == pytest.approx(37.29 * magnification / 100)
    assert (bars[0][0] - 20) / MM == pytest.approx(11 * x)
    assert (20 + code.width - bars[-1][2]) / MM == pytest.approx(7 * x)


@pytest.mark.parametrize("magnification", [80, 100, 200])
def test_the_addition_keeps_its_gap_and_its_foot(magnification: int, fonts: Fonts) -> None:
    """4js.com: 2.31 to 3.3 mm, 7 to 10 modules, right of the main symbol."""
    bars = [edges(bar) for bar in bars_of(Barcode(ISBN, "52495", magnification), fonts)]
    main, addition = bars[:30], bars[30:]
    gap = (addition[0][0] - main[-1][2]) / MM * 100 / magnification
    assert 2.31 <= gap <= 3.30
    assert [low for *_, low in addition] == pytest.approx([main[-1][3]] * len(addition)), "level with the guards"


@pytest.mark.parametrize("addition", [None, "52495"])
@pytest.mark.parametrize("magnification", [80, 200])
def test_no_ink_but_the_first_digit_lies_in_a_quiet_zone(
    magnification: int, addition: str | None, fonts: Fonts,
) -> None:
    """Measured at the height of the bars, by pdfium."""
    code = Barcode(ISBN, addition, magnification)
    scale = 8
    image = np.asarray(pypdfium2.PdfDocument(drawn(code, fonts))[0].render(scale=scale).to_pil().convert("L"))
    bars = [edges(bar) for bar in bars_of(code, fonts)]
    row = image[int((bars[-1][1] + bars[0][3]) / 2 * scale)]
    dark = np.flatnonzero(row < 200) / scale
    quiet = 20 + 11 * code.module
    assert dark.min() >= quiet - 0.2
    assert dark.max() <= 20 + code.width - 5 * code.module + 0.2


def test_digits_in_print_are_of_the_advised_height_and_none_overlap(fonts: Fonts) -> None:
    """barcodes.cz: 2.75 mm at 100 %."""
    figures = [mark for mark in flatten((draw_barcode(Barcode(ISBN, "52495"), 20, 20, fonts),))
               if isinstance(mark, Text) and len(mark.string) == 1]
    assert "".join(mark.string for mark in figures) == bare(ISBN) + "52495"
    face = fonts["sans"]
    for mark in figures:
        ink = face.bounds("1", mark.size)
        assert (ink.top - ink.bottom) / MM == pytest.approx(2.75, abs=0.01)
    for one, other in pairwise(figures):
        if one.y == other.y:
            end = one.x + face.bounds(one.string, one.size).right
            assert end < other.x + face.bounds(other.string, other.size).left
