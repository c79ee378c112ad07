"""Booklets: folded on paper in thought, and read half by half with pdfium."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cagework.layouts.load import Layout, shelf_names
from cagework.typeset.build import build
from cagework.typeset.choices import SHEETS
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import NotBuilt
from cagework.typeset.marks import MM, Page
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.booklet import OFFICE_PAPER_MM, Booklet, NoSheetError, impose, sheet_for, sides
from cagework.typeset.write.pdf import About, pdf_bytes

ABOUT = About("t", "", "", "en")


def folded(faces: list[tuple[Any, Any]]) -> Iterator[Any]:
    """What one reads of sheets printed on both sides, nested and folded: `faces` are (left, right) of each side as
    a duplex printer takes them. Flipped on the short edge, the left half of a sheet's second side lies behind the
    right half of its first. Leaves in front of the staples come from the right halves, outermost first; behind
    them, from the left halves, innermost first.
    """
    sheets = list(zip(faces[::2], faces[1::2], strict=True))
    for outside, inside in sheets:
        yield outside[1]
        yield inside[0]
    for outside, inside in reversed(sheets):
        yield inside[1]
        yield outside[0]


@given(st.integers(1, 400))
def test_nested_sheets_read_in_order_with_blanks_at_the_end(pages: int) -> None:
    order = list(sides(pages))
    read = list(folded([(side.left, side.right) for side in order]))
    assert len(read) % 4 == 0 and len(read) - pages < 4
    assert read == [*range(1, pages + 1), *[None] * (len(read) - pages)]
    assert [side.depth for side in order] == [depth for depth in range(len(order) // 2) for _ in "ab"]


# ISO 216: halving an A size gives the next. Two of 6 x 9 in are 12 x 9 in: over letter and legal, under tabloid.
@pytest.mark.parametrize(("width", "height", "sheet"), [
    (148, 210, "a4"), (105, 148, "a5"), (210, 297, "a3"), (129, 198, "a4"), (156, 234, "a3"),
    (152.4, 228.6, "tabloid"), (139.7, 215.9, "letter"), (107.95, 174.498, "a4"), (215.9, 279.4, "tabloid"),
])
def test_the_smallest_sheet_of_the_same_system_is_taken(width: float, height: float, sheet: str) -> None:
    assert sheet_for(width, height) == sheet


def test_a_page_too_large_for_any_sheet_is_refused() -> None:
    with pytest.raises(NoSheetError, match="300 x 420"):
        sheet_for(300, 420)


def test_every_layout_on_the_shelf_has_a_sheet(layout_of: Callable[[str], Layout]) -> None:
    for name in shelf_names():
        trim = layout_of(name).trim
        across, down = SHEETS[sheet_for(trim.width, trim.height)]
        assert across >= 2 * trim.width - 0.1 and down >= trim.height - 0.1


def numbered(count: int, fonts: Fonts, width: float = 148.0, height: float = 210.0) -> bytes:
    """Pages that say their number near the fore-edge, and again near the spine."""
    pages = []
    for number in range(1, count + 1):
        edge = width * MM - 30.0 if number % 2 else 30.0
        pages.append(Page(width * MM, height * MM, (fonts.centre(edge, 100.0, f"p{number}", "serif", 9.0),)))
    return pdf_bytes(pages, (), ABOUT, fonts)


def letters(text: str) -> list[str]:
    """All but spaces, and hyphens at line ends, which pdfium reports in more ways than one."""
    return sorted(char for char in text if char.isprintable() and char not in " -")


def halves(booklet: Booklet) -> list[tuple[str, str]]:
    found = []
    for page in pypdfium2.PdfDocument(booklet.pdf):
        width, height = page.get_size()
        text = page.get_textpage()
        found.append((text.get_text_bounded(0, 0, width / 2, height).strip(),
                      text.get_text_bounded(width / 2, 0, width, height).strip()))
    return found


@pytest.mark.parametrize("count", [1, 4, 7, 22])
def test_pages_read_in_order_once_folded(count: int, fonts: Fonts) -> None:
    booklet = impose(numbered(count, fonts), ABOUT, fonts)
    read = list(folded(halves(booklet)))
    assert read == [f"p{number}" for number in range(1, count + 1)] + [""] * (-count % 4)
    assert (booklet.sheets, booklet.blanks) == (len(read) // 4, -count % 4)


def test_outer_margins_are_alike_once_the_edges_are_cut_level(fonts: Fonts) -> None:
    """Sheet k stands out by k calipers (colorvisionprinting.com), so its fore-edge is cut that much nearer."""
    caliper = 0.25
    booklet = impose(numbered(40, fonts), ABOUT, fonts, caliper=caliper)
    for index, page in enumerate(pypdfium2.PdfDocument(booklet.pdf)):
        middle = page.get_size()[0] / 2
        cut = 148.0 * MM - (index // 2) * caliper * MM
        text = page.get_textpage()
        for left, _, right, _ in [text.get_rect(n) for n in range(text.count_rects())]:
            outside = cut - (right - middle) if left > middle else left - (middle - cut)
            assert outside == pytest.approx(30.0, abs=9.0), "half the width of the text"
            assert abs((left + right) / 2 - middle) == pytest.approx(cut - 30.0, abs=0.6)


def test_office_paper_is_what_the_creep_is_for(fonts: Fonts) -> None:
    plain = impose(numbered(8, fonts), ABOUT, fonts)
    assert plain.pdf == impose(numbered(8, fonts), ABOUT, fonts, caliper=OFFICE_PAPER_MM).pdf, "same bytes twice"
    assert plain.pdf != impose(numbered(8, fonts), ABOUT, fonts, caliper=0.0).pdf


def test_marks_are_drawn_only_where_the_sheet_has_room(fonts: Fonts) -> None:
    def strokes(booklet: Booklet) -> int:
        page = pypdfium2.PdfDocument(booklet.pdf)[0]
        return sum(item.type == pypdfium2.raw.FPDF_PAGEOBJ_PATH for item in page.get_objects())

    pdf = numbered(4, fonts)
    assert strokes(impose(pdf, ABOUT, fonts)) == 0, "two A5 pages fill A4"
    assert strokes(impose(pdf, ABOUT, fonts, "a3")) == 8 + 2, "two at each corner, two for the fold"


@pytest.fixture(scope="module")
def booklet(built: Any) -> Path:
    """The sample book as a booklet, from a whole build."""
    assert any("flip on short edge" in note for note in built.built.notes)
    path: Path = built.folder / "booklet.pdf"
    return path


def test_the_sample_reads_as_the_book_does(booklet: Path, built: Any) -> None:
    """Page for page the same characters: pdfium parts words a little differently at other places on the sheet."""
    data = booklet.read_bytes()
    read = list(folded(halves(Booklet(data, "a4", 0, 0))))
    book = pypdfium2.PdfDocument(built.pdf.read_bytes())
    for mine, page in zip(read, book, strict=False):
        assert letters(mine) == letters(page.get_textpage().get_text_range())
    assert read[len(book):] == [""] * (-len(book) % 4)


def test_faces_are_embedded_once_and_links_left_behind(booklet: Path, built: Any) -> None:
    def programs(pdf: Any) -> int:
        return sum("/FontFile2" in item for item in pdf.objects if isinstance(item, pikepdf.Dictionary))

    with pikepdf.open(booklet) as sheets, pikepdf.open(built.pdf) as book:
        assert programs(sheets) == programs(book)
        assert all("/Annots" not in page for page in sheets.pages)
        assert sheets.check_pdf_syntax() == []
        for page in sheets.pages:
            assert [float(edge) for edge in page.MediaBox] == pytest.approx([0, 0, 297 * MM, 210 * MM], abs=0.01)
        assert "/ID" in sheets.trailer


def test_ghostscript_and_qpdf_have_nothing_to_say(booklet: Path, tool: Any) -> None:
    done = tool("gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=nullpage", booklet)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert re.search("No syntax or stream encoding errors", tool("qpdf", "--check", booklet).stdout)


def test_a_sheet_too_small_is_told_and_nothing_is_written(built: Any, tmp_path: Path) -> None:
    with pytest.raises(NotBuilt) as told:
        build(built.book, built.reading, tmp_path / "out", None, booklet=True, sheet="letter")
    assert "do not fit on letter" in told.value.faults[0].message
    assert not list(tmp_path.rglob("*.pdf"))


def test_an_empty_stream_is_no_page_lost(fonts: Fonts) -> None:
    """A page without a mark is a page all the same."""
    pdf = io.BytesIO()
    with pikepdf.new() as made:
        for _ in range(3):
            made.add_blank_page(page_size=(148 * MM, 210 * MM))
        made.save(pdf)
    booklet = impose(pdf.getvalue(), ABOUT, fonts)
    assert (booklet.sheets, booklet.blanks) == (1, 1)


SMALL = """
book:
  title: Low Tide
  layout: 6x9-one-up
puzzles:
  - id: q01
    title: Slack Water
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""


def test_the_command_writes_it_on_the_sheet_asked_for_and_says_how_to_print_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "book.yaml"
    path.write_text(SMALL, encoding="utf-8")
    for sheet, size in (((), (431.8, 279.4)), (("--sheet", "a3"), (420.0, 297.0))):
        assert main(["build", str(path), "--out", str(tmp_path / "out"), "--booklet", *sheet]) == Exit.FINE
        assert "flip on short edge" in capsys.readouterr().out
        page = pypdfium2.PdfDocument((tmp_path / "out" / "booklet.pdf").read_bytes())[0]
        assert page.get_size() == pytest.approx([side * MM for side in size], abs=0.01)
    small = ("--booklet", "--sheet", "letter")
    assert main(["build", str(path), "--out", str(tmp_path / "new"), *small]) == Exit.FAULTS
    assert "do not fit on letter" in capsys.readouterr().err
    assert not (tmp_path / "new").exists()
