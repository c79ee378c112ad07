"""Files that came back from other programs, rewritten but the same book, on every layout of the shelf; and fonts
that say one thing and draw another.
"""

from __future__ import annotations

import io
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from fontTools.ttLib import TTFont

from cagework.layouts.load import SHELF, shelf_layout
from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM
from cagework.typeset.write.press import PressSpec, press_bytes

DAY = datetime(2026, 3, 1, tzinfo=UTC)
RAILS = "crossed-rails"


def on_a_sheet(data: bytes, room: float) -> bytes:
    """Each page moved to the middle of a larger sheet, `room` pt on all sides, its trim marked."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for page in pdf.pages:
            width, height = (float(edge) for edge in page.MediaBox[2:])
            page.contents_add(f"q 1 0 0 1 {room} {room} cm".encode(), prepend=True)
            page.contents_add(b"Q")
            for note in page.get("/Annots", ()):
                note.Rect = [float(edge) + room for edge in note.Rect]
            page.MediaBox = [0, 0, width + 2 * room, height + 2 * room]
            for name in ("/TrimBox", "/BleedBox"):
                page[name] = [room, room, room + width, room + height]
        pdf.save(out)
    return out.getvalue()


@pytest.mark.parametrize("name", sorted(path.stem for path in SHELF.glob("*.yaml")))
def test_no_false_alarm_on_any_layout(name: str, little_folder: Path, finish: Any) -> None:
    """For a screen; for a press, without links; and on a press sheet with room for bleed and marks."""
    reading = load_book(little_folder / "book.yaml")
    assert reading.book is not None
    made = finish(reading, replace(reading.book, layout=shelf_layout(name)))
    assert made.told(made.data) == []
    pressed = press_bytes(made.data, PressSpec("Platform 9", DAY, DAY))
    assert made.told(pressed) == []
    assert made.told(on_a_sheet(pressed, 13 * MM)) == []


def test_a_sheet_without_a_trim_box_holds_its_page_in_the_middle(little: Any) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(on_a_sheet(little.data, 20.0))) as pdf:
        for page in pdf.pages:
            del page["/TrimBox"], page["/BleedBox"]
        pdf.save(out)
    assert little.told(out.getvalue()) == []


@pytest.mark.parametrize("saving", [
    {"object_stream_mode": pikepdf.ObjectStreamMode.generate, "linearize": True},
    {"stream_decode_level": pikepdf.StreamDecodeLevel.generalized, "compress_streams": False, "qdf": True},
])
def test_a_file_rewritten_by_qpdf(saving: dict[str, Any], little: Any) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(little.data)) as pdf:
        pdf.save(out, **saving)
    assert little.told(out.getvalue()) == []


def test_a_file_distilled_by_ghostscript(little: Any, spoiled: Any, tool: Any, tmp_path: Path) -> None:
    """Fonts come back without a word on what their codes mean, texts set anew; one wrong digit still tells."""
    place, cell = little.grid(GridKind.ANSWER, RAILS), Cell(4, 4)
    digit = little.original.solved.answers[RAILS].at(cell)

    def swap(page: Any) -> None:
        page.code[page.in_cell(place, cell)] = ([pikepdf.String(str(digit % 9 + 1))], pikepdf.Operator("Tj"))

    wrong = (f"page {place.page}, answer of '{RAILS}', r4c4: '{digit % 9 + 1}' stands where the digit {digit} "
             "should")
    for data, told in ((little.data, []), (spoiled(place.page, swap), [wrong])):
        (tmp_path / "in.pdf").write_bytes(data)
        done = tool("gs", "-q", "-dNOPAUSE", "-dBATCH", "-sDEVICE=pdfwrite", "-o", tmp_path / "out.pdf",
                    tmp_path / "in.pdf")
        assert done.returncode == 0, done.stderr
        assert little.told((tmp_path / "out.pdf").read_bytes()) == told


def test_a_file_written_anew_by_cairo(little: Any, tool: Any, tmp_path: Path) -> None:
    """It shrinks pages by a hair and drops links."""
    (tmp_path / "in.pdf").write_bytes(little.data)
    done = tool("pdftocairo", "-pdf", tmp_path / "in.pdf", tmp_path / "out.pdf")
    assert done.returncode == 0, done.stderr
    data = (tmp_path / "out.pdf").read_bytes()
    found = little.compared(data)
    assert found.differences == ()
    assert "links (the file has none)" in found.not_compared
    assert "tags (the file has none)" in found.not_compared


def refonted(data: bytes, change: Any) -> bytes:
    """A file with each of its sans fonts changed; `change` takes a font's dictionary."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for one in pdf.objects:
            if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/Font" and "Sans" in str(one.BaseFont):
                change(one)
        pdf.save(out)
    return out.getvalue()


def test_a_font_that_draws_another_digit_than_it_says(little: Any) -> None:
    """The glyphs of 5 and 6 swapped in the font program: codes mean what they did, and print something else."""
    def swap(font: Any) -> None:
        program = TTFont(io.BytesIO(font.FontDescriptor.FontFile2.read_bytes()))
        glyphs = program["glyf"]
        (table,) = program["cmap"].tables
        five, six = table.cmap[ord("5")], table.cmap[ord("6")]
        glyphs[five], glyphs[six] = glyphs[six], glyphs[five]
        out = io.BytesIO()
        program.save(out)
        font.FontDescriptor.FontFile2.write(out.getvalue())

    page = little.grid(GridKind.ANSWER, RAILS).page
    assert (f"page {page}, answer of '{RAILS}', r1c2: '6' stands where the digit 5 should"
            in little.told(refonted(little.data, swap)))


def test_a_font_that_says_another_digit_than_it_draws(little: Any) -> None:
    """ToUnicode with 5 and 6 swapped: wrong for those who copy text, right in print."""
    def swap(font: Any) -> None:
        text = font.ToUnicode.read_bytes()
        five, six = b"<35> <0035>", b"<36> <0036>"
        assert five in text and six in text
        font.ToUnicode.write(text.replace(five, b"<35> <0036>").replace(six, b"<36> <0035>"))

    assert little.told(refonted(little.data, swap)) == ["file: '5' is copied as '6'", "file: '6' is copied as '5'"]


def test_a_font_redrawn_by_another_program_is_taken_at_its_word(little: Any) -> None:
    """Every outline lifted by a unit, a thousandth of the size: none is any face's, so the font's word counts."""
    def redraw(font: Any) -> None:
        program = TTFont(io.BytesIO(font.FontDescriptor.FontFile2.read_bytes()))
        for name in program.getGlyphOrder():
            glyph = program["glyf"][name]
            if glyph.numberOfContours > 0:
                glyph.coordinates.translate((0, 1))
        out = io.BytesIO()
        program.save(out)
        font.FontDescriptor.FontFile2.write(out.getvalue())

    def say(font: Any) -> None:
        redraw(font)
        font.ToUnicode.write(font.ToUnicode.read_bytes().replace(b"<35> <0035>", b"<35> <0036>"))

    assert little.told(refonted(little.data, redraw)) == []
    page = little.grid(GridKind.ANSWER, RAILS).page
    assert (f"page {page}, answer of '{RAILS}', r1c2: '6' stands where the digit 5 should"
            in little.told(refonted(little.data, say)))


def test_a_heading_too_long_for_its_line(little_folder: Path, tmp_path: Path, finish: Any) -> None:
    """Over hints and worked solutions it goes on below, and the page stands beside its first line."""
    long = "The Signalman of the Farthest Halt Between Two Rivers Counts Wagons in the Fog"
    shutil.copytree(little_folder / "puzzles", tmp_path / "puzzles")
    text = (little_folder / "book.yaml").read_text(encoding="utf-8")
    text = text.replace("    title: Platform 9\n", f"    title: {long}\n")
    assert long in text
    (tmp_path / "book.yaml").write_text(text, encoding="utf-8")
    reading = load_book(tmp_path / "book.yaml")
    assert reading.book is not None
    made = finish(reading, reading.book)
    assert made.told(made.data) == []
