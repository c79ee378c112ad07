"""The cover: its spine by published examples, its sheet before the preflight, its barcode before a reader."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pikepdf
import pypdfium2
import pytest
import zxingcpp

from cagework.layouts.load import Layout, Trim, shelf_names
from cagework.typeset.book import Binding, Book
from cagework.typeset.build import build
from cagework.typeset.choices import Stock
from cagework.typeset.draw.artwork import draw_artwork
from cagework.typeset.draw.cover import CoverError
from cagework.typeset.faults import NotBuilt
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Text, flatten
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import preflight
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.trade.binding import FOLD_DRIFT_MM, SPINE_FOR_TEXT_MM, papers, spine_mm
from cagework.typeset.trade.isbn import bare
from cagework.typeset.words import load_words
from cagework.typeset.write.cover import CoverFile, cover_pdf
from cagework.typeset.write.pdf import About
from cagework.typeset.write.press import PressSpec, press_bytes

BLEED = 3.0
PAGES = 88
Make = Callable[..., CoverFile]


@pytest.fixture(scope="module")
def make(built: Any) -> Make:
    """Draw the sample's cover, with changes to the cover or the book."""
    def cover(pages: int = PAGES, layout: Layout | None = None, book: dict[str, Any] | None = None,
              **changes: Any) -> CoverFile:
        changed: Book = replace(built.book, **(book or {}), **({"layout": layout} if layout else {}))
        assert changed.cover is not None
        return cover_pdf(changed, replace(changed.cover, **changes), pages, About(changed.title, "", "", "en"),
                         Fonts(changed.layout), load_words("en"))

    return cover


@pytest.fixture(scope="module")
def pressed_cover(built: Any) -> bytes:
    """The sample's cover as a whole build wrote it."""
    data: bytes = (built.folder / "cover.pdf").read_bytes()
    return data


def through_press(cover: CoverFile, day: datetime) -> bytes:
    return press_bytes(cover.pdf, PressSpec("The Slow Train", day, day))


def seen(pdf: bytes, dots: int) -> npt.NDArray[np.uint8]:
    return np.asarray(pypdfium2.PdfDocument(pdf)[0].render(scale=dots / 72).to_pil().convert("L"))


# calverts.coop, calculating spine width: 24 leaves of 0.16 mm and 1 mm for the cover are 4.84 mm. goldprinting.cc:
# 200 pages of 79 gsm bulky paperback are 13.8 mm, and 0.5 mm for glue. pattersonprinting.com: 128 pages of
# .0039 in are .2496 in. printabook.co.nz: 100 leaves of 80 gsm are 10 mm.
@pytest.mark.parametrize(("pages", "caliper", "allowance", "width"), [
    (48, 0.160, 1.0, 4.84), (200, papers()["bulky-79"], 0.5, 14.3), (128, 0.0039 * 25.4, 0.0, 0.2496 * 25.4),
    (128, papers()["text-50lb"], 0.0, 0.2496 * 25.4), (200, papers()["offset-80"], 0.0, 10.0),
    (87, 0.1, 0.0, 4.4),
])
def test_spines_of_published_examples(pages: int, caliper: float, allowance: float, width: float) -> None:
    assert spine_mm(pages, caliper, allowance) == pytest.approx(width, abs=0.004)


def test_a_sheet_is_two_panels_and_a_spine_with_room_for_bleed_and_marks(
    make: Make, built: Any, pressed_cover: bytes,
) -> None:
    with pikepdf.open(built.folder / "book.pdf") as pdf:
        count = len(pdf.pages)
    cover = make(count)
    assert cover.spine == pytest.approx(count / 2 * 0.138 + 0.5)
    assert cover.trim_mm == pytest.approx((2 * 148 + cover.spine, 210))
    with pikepdf.open(io.BytesIO(pressed_cover)) as pdf:
        (page,) = pdf.pages
        trim, bleed, media = (list(map(float, box)) for box in (page.trimbox, page.bleedbox, page.mediabox))
    assert [trim[2] - trim[0], trim[3] - trim[1]] == pytest.approx([side * MM for side in cover.trim_mm], abs=0.01)
    assert [trim[n] - bleed[n] for n in (0, 1)] == pytest.approx([BLEED * MM] * 2, abs=0.01)
    assert [bleed[n] - trim[n] for n in (2, 3)] == pytest.approx([BLEED * MM] * 2, abs=0.01)
    assert trim[0] - media[0] == pytest.approx(media[2] - trim[2], abs=0.01)


def test_the_marks_to_cut_by_are_whole(pressed_cover: bytes) -> None:
    """Outside the trim, and none reaches the edge of the sheet, where printers cannot print (common practice)."""
    with pikepdf.open(io.BytesIO(pressed_cover)) as pdf:
        trim = [float(edge) for edge in pdf.pages[0].trimbox]
    page = pypdfium2.PdfDocument(pressed_cover)[0]
    width, height = page.get_size()
    boxes = [one.get_bounds() for one in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])]
    across = sum(left > trim[2] or right < trim[0] for left, _, right, _ in boxes)
    down = sum(low > trim[3] or high < trim[1] for _, low, _, high in boxes)
    assert across >= 4 and down >= 4, "two at each corner"
    for left, low, right, high in boxes:
        assert min(left, low, width - right, height - high) > 1.5 * MM, "clear of the edge"


def test_the_printers_figure_stands_over_ours(make: Make) -> None:
    assert make(spine=9.2).spine == 9.2
    assert make(spine=9.2).trim_mm[0] == pytest.approx(2 * 148 + 9.2)


@pytest.mark.parametrize("reversed_", [True, False])
@pytest.mark.parametrize("name", shelf_names())
def test_a_cover_in_every_layout_passes_the_preflight(
    name: str, reversed_: bool, make: Make, layout_of: Callable[[str], Layout], day: datetime,
) -> None:
    cover = make(layout=layout_of(name), reversed=reversed_)
    report = preflight(through_press(cover, day), Profile(trim_mm=cover.trim_mm))
    assert report.findings == ()


@pytest.mark.parametrize("addition", [None, "52495"])
@pytest.mark.parametrize("magnification", [80, 100, 200])
@pytest.mark.parametrize("reversed_", [True, False])
def test_a_reader_finds_the_books_number_on_the_cover(
    reversed_: bool, magnification: int, addition: str | None, make: Make, built: Any,
) -> None:
    cover = make(reversed=reversed_, magnification=magnification, ean5=addition, blurb="Short.")
    wish = zxingcpp.EanAddOnSymbol.Require if addition else zxingcpp.EanAddOnSymbol.Ignore
    found = zxingcpp.read_barcodes(seen(cover.pdf, 300), ean_add_on_symbol=wish)
    assert [one.text for one in found] == [bare(built.book.isbn) + (addition or "")]


def test_the_barcode_stands_on_white_that_reaches_past_its_quiet_zones(pressed_cover: bytes) -> None:
    """From the bars outwards on the page, by pdfium: 11 modules of white to the left, 5 past an addition."""
    dots = 600
    image = seen(pressed_cover, dots)
    found = zxingcpp.read_barcodes(image)[0].position
    row = (found.top_left.y + found.bottom_left.y) // 2
    module = 0.33 * dots / 25.4
    near = image[row, found.top_left.x - int(11 * module):found.top_left.x + int(156 * module)]
    bars = np.flatnonzero(near < 128)
    assert bars[0] >= 11 * module - 2
    assert (bars[-1] - bars[0]) / module == pytest.approx(95 + 8 + 48, abs=0.5), "no ink beside the two symbols"
    assert len(near) - bars[-1] >= 5 * module


def test_the_title_is_on_the_front_and_reads_down_the_spine_clear_of_its_folds(make: Make) -> None:
    cover = make()
    page = pypdfium2.PdfDocument(cover.pdf)[0]
    width = page.get_size()[0] / MM
    folds = (width - cover.spine) / 2, (width + cover.spine) / 2
    text = page.get_textpage()
    boxes = [text.get_charbox(n) for n in range(text.count_chars()) if text.get_text_range(n, 1).strip()]
    on_spine = [box for box in boxes if folds[0] * MM < (box[0] + box[2]) / 2 < folds[1] * MM]
    assert len(on_spine) == len("TheSlowTraintoBrindlemoor" "THEBRINDLEMOORLINE")
    assert min(box[0] for box in on_spine) >= (folds[0] + FOLD_DRIFT_MM) * MM - 0.3
    assert max(box[2] for box in on_spine) <= (folds[1] - FOLD_DRIFT_MM) * MM + 0.3
    tall = max(box[3] for box in on_spine) - min(box[1] for box in on_spine)
    assert tall > 100 * MM, "it runs along the spine"
    front = text.get_text_bounded(folds[1] * MM, 0, width * MM, page.get_size()[1])
    for words in ("The Slow Train", "to Brindlemoor", "Thirty-five cage-sum puzzles", "THE BRINDLEMOOR LINE"):
        assert words in " ".join(front.split())


def test_a_thin_spine_stays_bare_and_says_so(make: Make) -> None:
    thin = make(pages=40)
    assert thin.spine < SPINE_FOR_TEXT_MM
    assert any("too thin" in note for note in thin.notes)
    page = pypdfium2.PdfDocument(thin.pdf)[0]
    assert page.get_textpage().get_text_range().count("Brindlemoor") == 2, "on the front and in the blurb only"
    assert not any("too thin" in note for note in make(pages=40, spine_text=False).notes)


def test_text_asked_for_on_a_thin_spine_is_refused(make: Make) -> None:
    with pytest.raises(CoverError, match=r"3\.3 mm is too thin for text") as told:
        make(pages=40, spine_text=True)
    assert told.value.key == "spine_text"


def test_a_saddle_stitched_book_has_no_spine(make: Make) -> None:
    cover = make(binding=Binding.SADDLE)
    assert (cover.spine, cover.notes) == (0.0, ())
    assert cover.trim_mm == (296.0, 210.0)


def test_the_artwork_tells_sums_and_givens_and_not_the_answer(built: Any, fonts: Fonts) -> None:
    for entry in built.book.entries:
        drawn = draw_artwork(entry.puzzle, 360.0, 1.0, fonts, 0.0, 0.0)
        said = sorted(mark.string for mark in flatten((drawn,)) if isinstance(mark, Text))
        assert said == sorted([str(cage.total) for cage in entry.puzzle.cages if cage.total is not None]
                              + [str(given.digit) for given in entry.puzzle.givens])


@pytest.mark.parametrize(("key", "changes"), [
    ("blurb", {"blurb": "A word or two about trains. " * 40}),
    ("blurb", {"blurb": "Short.\n\n" + "A word or two about trains. " * 200}),
    ("title", {"book": {"title": "Brindlemoor " * 60}}),
    ("by", {"book": {"by": "everyone on the train and their friends " * 4}}),
    ("spine_text", {"book": {"title": "The Slow Train to Brindlemoor " * 5}, "spine_text": True}),
])
def test_what_does_not_fit_is_refused_by_its_key(key: str, changes: dict[str, Any], make: Make) -> None:
    with pytest.raises(CoverError) as told:
        make(**changes)
    assert told.value.key == key


def test_a_barcode_wider_than_the_back_is_refused(make: Make, layout_of: Callable[[str], Layout]) -> None:
    pocket = layout_of("a5-one-up").model_copy(update={"trim": Trim(width=105, height=148)})
    with pytest.raises(CoverError, match="larger than the back") as told:
        make(layout=pocket, magnification=200, blurb="")
    assert told.value.key == "magnification"
    assert make(layout=pocket, magnification=80, blurb="").trim_mm[1] == 148


def test_the_same_cover_has_the_same_bytes(make: Make, day: datetime) -> None:
    assert through_press(make(), day) == through_press(make(), day)


def test_the_build_makes_it_for_the_covers_own_stock(pressed_cover: bytes, built: Any) -> None:
    trim = make_trim(built)
    assert preflight(pressed_cover, Profile(stock=Stock.COATED, trim_mm=trim)).findings == ()
    found = preflight(pressed_cover, Profile(stock=Stock.UNCOATED, trim_mm=trim)).findings
    assert {finding.rule for finding in found} == {"output_intent"}
    assert any(note.startswith("cover.pdf: a spine of") for note in built.built.notes)


def make_trim(built: Any) -> tuple[float, float]:
    return 2 * 148 + spine_mm(built.built.pages, papers()["bulky-79"], 0.5), 210.0


SMALL = """
book:
  title: Low Tide
  cover:
    spine: 4
    spine_text: true
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


def test_what_does_not_fit_is_a_fault_at_its_key_and_nothing_is_written(tmp_path: Path) -> None:
    path = tmp_path / "book.yaml"
    path.write_text(SMALL, encoding="utf-8")
    reading = load_book(path)
    assert reading.book is not None
    with pytest.raises(NotBuilt) as told:
        build(reading.book, reading, tmp_path / "out", None, press=True)
    (fault,) = told.value.faults
    assert (fault.line, fault.column, fault.source) == (6, 17, "    spine_text: true")
    assert "4.0 mm is too thin" in fault.message
    assert not list(tmp_path.rglob("*.pdf"))


def test_outside_tools_have_nothing_to_say(pressed_cover: bytes, tool: Any, tmp_path: Path) -> None:
    path = tmp_path / "cover.pdf"
    path.write_bytes(pressed_cover)
    assert "No syntax or stream encoding errors" in tool("qpdf", "--check", path).stdout
    done = tool("gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=inkcov", "-o", "-", path)
    assert done.stderr == ""
    assert re.fullmatch(r"\s*0\.0+\s+0\.0+\s+0\.0+\s+0\.\d+ CMYK OK\s*", done.stdout), "black alone"
    assert "PDF/X-1a:2003" in tool("pdfinfo", "-box", path).stdout
    for row in tool("pdffonts", path).stdout.splitlines()[2:]:
        assert re.search(r"TrueType\s+\S+\s+yes\s+yes\s+yes", row), row
