"""Runs of text as they stand in a file, reckoned from its own operators and widths (ISO 32000-1, 9.4.4).

pikepdf, which carries qpdf, reads the operators; pdfium says what the letters are.
"""

from __future__ import annotations

import io
import random
from typing import Any

import pikepdf
import pypdfium2
import pytest
from fontTools.ttLib import TTFont

from cagework.layouts.load import shelf_layout
from cagework.typeset.marks import MM, Fill, Line, Page, Text, rectangle
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.pdf import About, pdf_bytes

HIGH = 210 * MM


@pytest.fixture(scope="module")
def fonts() -> Fonts:
    return Fonts(shelf_layout("a5-one-up"))


def written(fonts: Fonts, *marks: Any) -> bytes:
    return pdf_bytes((Page(148 * MM, HIGH, marks),), (), About("t", "", "", "en"), fonts)


def strings(data: bytes) -> list[list[tuple[float, float]]]:
    """For each run of the page: where each of its strings starts and ends, across, in pt."""
    found: list[list[tuple[float, float]]] = []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[0]
        start, size, spacing = 0.0, 0.0, 0.0
        font: Any = None
        for operands, operator in pikepdf.parse_content_stream(page):
            match str(operator):
                case "Tf":
                    font, size = page.Resources.Font[operands[0]], float(operands[1])
                case "Tc":
                    spacing = float(operands[0])
                case "Td":
                    start = float(operands[0])
                    found.append([])
                case "TJ":
                    for part in operands[0]:
                        if isinstance(part, pikepdf.String):
                            widths = [float(font.Widths[code]) for code in bytes(part)]
                            end = start + sum(width / 1000 * size + spacing for width in widths)
                            found[-1].append((start, end))
                            start = end
                        else:
                            start -= float(part) / 1000 * size
    return found


def test_every_chunk_starts_where_its_mark_says(fonts: Fonts) -> None:
    """Moves are rounded to a ten-thousandth of an em, and the rounding never adds up along a line."""
    draw = random.Random(7)
    marks = []
    for number in range(40):
        size, at, chunks = draw.uniform(5, 30), 0.0, []
        for _ in range(draw.randint(1, 25)):
            chunk = "".join(draw.choices("aTo, (fi)\\Vé–ß", k=draw.randint(1, 9)))
            chunks.append((at, chunk))
            at += fonts["serif"].width(chunk, size) + draw.uniform(-3, 8)
        marks.append(Text(10.0, 12.0 * number + 30, tuple(chunks), "serif", size))
    for mark, found in zip(marks, strings(written(fonts, *marks)), strict=True):
        starts = [start for start, _ in found]
        for dx, _ in mark.chunks:
            # A chunk right after another goes on in its string.
            near = min(starts + [end for _, end in found], key=lambda start: abs(start - mark.x - dx))
            assert near == pytest.approx(mark.x + dx, abs=1.01e-4 * mark.size)


def test_letters_past_a_fonts_first_codes_are_what_they_were(fonts: Fonts) -> None:
    """A simple font has 256 codes: a face with more characters than that needs several, and switches between."""
    face = TTFont(fonts["serif"].path)
    chars = [chr(code) for code in sorted(face.getBestCmap()) if chr(code).isalpha() and code < 0x2000][:420]
    assert len(chars) > 256
    rows = ["".join(chars[start:start + 20]) for start in range(0, len(chars), 20)]
    marks = [Text(20.0, 20.0 * number, ((0.0, row), (200.0, "end")), "serif", 9.0)
             for number, row in enumerate(rows, 1)]
    data = written(fonts, *marks)
    text = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_bounded()
    lines = ["".join(line.split()) for line in text.splitlines() if line.strip()]
    assert sorted(lines) == sorted(f"{row}end" for row in rows)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        names = {str(name) for name, font in pdf.pages[0].Resources.Font.items() if "Serif" in str(font.BaseFont)}
    assert len(names) == 2


def test_what_is_chosen_already_is_not_chosen_again(fonts: Fonts) -> None:
    """The state holds until it is changed (ISO 32000-1, 8.4.1): alike lines and letters need no new orders."""
    lines = [Line(0, y, 50, y, 0.5, 0.3) for y in (10, 20, 30)]
    patches = [Fill((rectangle(0, y, 5, 5),), 0.2) for y in (40, 50)]
    words = [Text(0, y, ((0.0, "as"),), "sans", 8.0, 0.2) for y in (60, 70)]
    with pikepdf.open(io.BytesIO(written(fonts, *lines, *patches, *words))) as pdf:
        used = [str(operator) for _, operator in pikepdf.parse_content_stream(pdf.pages[0])]
    assert [used.count(name) for name in ("S", "f*", "TJ")] == [3, 2, 2]
    drawn = used[used.index("BMC"):]
    assert [drawn.count(name) for name in ("w", "G", "d", "g", "Tf")] == [1, 1, 1, 1, 1]
