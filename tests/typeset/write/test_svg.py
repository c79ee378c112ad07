"""SVG files: well-formed, sized, true to the PDF pixel by pixel, digits in the middle of their cells."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest
import resvg_py
from PIL import Image, ImageFilter

from cagework.layouts.load import Layout
from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle, standard_houses
from cagework.solver.rules import RULES
from cagework.typeset.draw.grid import draw_grid
from cagework.typeset.draw.look import answer_look, puzzle_look
from cagework.typeset.marks import MM, Cap, Group, Line, Page, half_turned, scaled
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.pdf import About, pdf_bytes
from cagework.typeset.write.svg import svg_text

SVG = "{http://www.w3.org/2000/svg}"
Grey = npt.NDArray[np.uint8]


def puzzle() -> Puzzle:
    """A grid with a ring-shaped cage, a cage without a sum, uncaged cells and givens."""
    ring = tuple(Cell(r, c) for r in range(2, 5) for c in range(2, 5) if (r, c) != (3, 3))
    long = tuple(Cell(9, c) for c in range(1, 10))
    cages = (Cage(ring, 38), Cage((Cell(3, 3),), 4), Cage(long, 45), Cage((Cell(1, 1), Cell(1, 2)), None),
             Cage((Cell(5, 6), Cell(5, 7), Cell(6, 6)), 10))
    return Puzzle(9, standard_houses(9), cages, tuple(Given(Cell(7, d), d) for d in range(1, 10)))


def drawn(fonts: Fonts, layout: Layout, kind: str) -> tuple[Group, float]:
    cell = 36.0
    look = puzzle_look(layout, cell) if kind == "puzzle" else answer_look(layout, cell)
    answer = Answer(9, tuple(d % 9 + 1 for d in range(81))) if kind == "answer" else None
    rules = [RULES["windows"](9), RULES["diagonals"](9)]
    return draw_grid(puzzle(), rules, look, fonts, 9.0, 9.0, answer), 9 * cell + 18


def from_svg(text: str, dots: int) -> Grey:
    png = bytes(resvg_py.svg_to_bytes(svg_string=text, background="white", dpi=dots))
    return np.asarray(Image.open(io.BytesIO(png)).convert("L"))


def from_pdf(data: bytes, dots: int) -> Grey:
    page = pypdfium2.PdfDocument(data)[0]
    return np.asarray(page.render(scale=dots / 72).to_pil().convert("L"))


def pdf_of(grid: Group, side: float, fonts: Fonts) -> bytes:
    return pdf_bytes((Page(side, side, (grid,)),), (), About("t", "", "", "en"), fonts)


def softened(image: Grey) -> npt.NDArray[np.int16]:
    """A little blur: two rasterisers may round an edge to different sides of a pixel."""
    return np.asarray(Image.fromarray(image).filter(ImageFilter.GaussianBlur(1.5))).astype(np.int16)


def differ(a: Grey, b: Grey) -> float:
    """The greatest difference, of 255, once edges are softened."""
    high, wide = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    assert abs(a.shape[0] - b.shape[0]) <= 1 and abs(a.shape[1] - b.shape[1]) <= 1
    return float(np.abs(softened(a)[:high, :wide] - softened(b)[:high, :wide]).max())


@pytest.mark.parametrize("kind", ["puzzle", "answer"])
def test_svg_and_pdf_look_the_same(kind: str, fonts: Fonts, layout_of: Callable[[str], Layout]) -> None:
    """One by resvg, the other by pdfium."""
    grid, side = drawn(fonts, layout_of("a5-one-up"), kind)
    one = from_svg(svg_text((grid,), side, side, fonts, "t"), 200)
    other = from_pdf(pdf_of(grid, side, fonts), 200)
    assert differ(one, other) < 90


def test_what_is_turned_by_half_is_the_same_upside_down(
    fonts: Fonts, layout_of: Callable[[str], Layout],
) -> None:
    """Words and dashes too, in SVG by resvg and in PDF by pdfium."""
    grid, side = drawn(fonts, layout_of("a5-one-up"), "puzzle")
    marks = (grid, fonts.left(12, 7, "Upside down", "sans", 6, tracking=0.3))
    turned = Group("t", tuple(half_turned(mark, side / 2, side / 2) for mark in marks))
    upright = from_pdf(pdf_of(Group("u", marks), side, fonts), 200)
    svg, pdf = svg_text((turned,), side, side, fonts, "t"), pdf_of(turned, side, fonts)
    for back in (from_svg(svg, 200), from_pdf(pdf, 200)):
        assert differ(np.ascontiguousarray(back[::-1, ::-1]), upright) < 90


def test_what_is_scaled_is_the_same_smaller(fonts: Fonts, layout_of: Callable[[str], Layout]) -> None:
    grid, side = drawn(fonts, layout_of("a5-one-up"), "puzzle")
    small = Group("s", (scaled(grid, 0.5, 0.0, 0.0),))
    assert differ(from_pdf(pdf_of(small, side / 2, fonts), 400), from_pdf(pdf_of(grid, side, fonts), 200)) < 90


@pytest.mark.parametrize(("cap", "beyond"), [(Cap.BUTT, 0.0), (Cap.ROUND, 5.0), (Cap.SQUARE, 5.0)])
def test_a_line_ends_where_it_should(cap: Cap, beyond: float, fonts: Fonts) -> None:
    """At its end, or half its weight beyond (ISO 32000-1, table 54; SVG 1.1, 11.4), after one that ends
    otherwise.
    """
    before = Cap.SQUARE if cap is Cap.BUTT else Cap.BUTT
    lines = (Line(20.0, 20.0, 80.0, 20.0, 10.0, cap=before), Line(20.0, 60.0, 80.0, 60.0, 10.0, cap=cap))
    marks = Group("g", lines)
    svg, pdf = svg_text((marks,), 100, 100, fonts, "t"), pdf_of(marks, 100, fonts)
    for image in (from_svg(svg, 144), from_pdf(pdf, 144)):
        inked = np.flatnonzero(image[120] < 128) / 2
        assert (inked[0], inked[-1] + 0.5) == pytest.approx((20 - beyond, 80 + beyond), abs=0.6)


def test_live_text_names_its_fonts_and_keeps_its_words(fonts: Fonts, layout_of: Callable[[str], Layout]) -> None:
    grid, side = drawn(fonts, layout_of("a5-one-up"), "puzzle")
    tree = ET.fromstring(svg_text((grid,), side, side, fonts, "t", live_text=True))
    words = [("".join(text.itertext()), text.attrib["font-family"], text.attrib["font-weight"])
             for text in tree.iter(f"{SVG}text")]
    sums = [(str(cage.total), "'Source Sans Pro'", "600") for cage in puzzle().cages if cage.total]
    assert words[:len(sums)] == sums


def test_the_comparison_notices_one_missing_sum(fonts: Fonts, layout_of: Callable[[str], Layout]) -> None:
    grid, side = drawn(fonts, layout_of("a5-one-up"), "puzzle")
    short = Group("grid", tuple(
        Group(part.name, part.marks[:-1]) if isinstance(part, Group) and part.name == "sums" else part
        for part in grid.marks
    ))
    one = from_svg(svg_text((short,), side, side, fonts, "t"), 200)
    assert differ(one, from_pdf(pdf_of(grid, side, fonts), 200)) > 120


@pytest.mark.parametrize("kind", ["puzzle", "answer"])
def test_poppler_draws_the_pdf_as_resvg_draws_the_svg(
    kind: str, fonts: Fonts, layout_of: Callable[[str], Layout], tool: Callable[..., Any], tmp_path: Path,
) -> None:
    grid, side = drawn(fonts, layout_of("a5-one-up"), kind)
    (tmp_path / "grid.pdf").write_bytes(pdf_of(grid, side, fonts))
    done = tool("pdftoppm", "-r", "200", "-png", "-gray", tmp_path / "grid.pdf", tmp_path / "grid")
    assert done.returncode == 0 and done.stderr == ""
    other = np.asarray(Image.open(next(tmp_path.glob("grid*.png"))).convert("L"))
    assert differ(from_svg(svg_text((grid,), side, side, fonts, "t"), 200), other) < 90


def test_digits_stand_in_the_middle_of_their_cells(fonts: Fonts, layout_of: Callable[[str], Layout]) -> None:
    """Measured on a raster by pdfium: across, each digit's ink; down, the ink of the row of all nine."""
    plain = Puzzle(9, (), (), tuple(Given(Cell(7, d), d) for d in range(1, 10)))
    grid = draw_grid(plain, (), puzzle_look(layout_of("a5-one-up"), 36.0), fonts, 9.0, 9.0)
    only = Group("grid", tuple(part for part in grid.marks if isinstance(part, Group) and part.name == "givens"))
    scale = 10
    image = from_pdf(pdf_of(only, 342.0, fonts), 72 * scale)
    band = image[int((9 + 6 * 36) * scale):int((9 + 7 * 36) * scale)] < 128
    rows = np.flatnonzero(band.any(axis=1))
    assert (rows[0] + rows[-1] + 1) / 2 / scale == pytest.approx(18, abs=0.3)
    for number in range(9):
        cell = band[:, int((9 + number * 36) * scale):int((9 + (number + 1) * 36) * scale)]
        columns = np.flatnonzero(cell.any(axis=0))
        assert (columns[0] + columns[-1] + 1) / 2 / scale == pytest.approx(18, abs=0.1)


def test_no_dash_touches_a_grid_line_or_a_sum(fonts: Fonts, layout_of: Callable[[str], Layout]) -> None:
    """Drawn apart by pdfium: the ink of the cages, knocked out, and that of lines and sums never meet."""
    grid, side = drawn(fonts, layout_of("a5-one-up"), "puzzle")
    parts = {part.name: part for part in grid.marks if isinstance(part, Group)}
    cages = from_pdf(pdf_of(Group("c", (parts["cages"], parts["knock-outs"])), side, fonts), 400) < 128
    for name in ("cells", "regions", "sums"):
        other = from_pdf(pdf_of(Group("o", (parts[name],)), side, fonts), 400) < 128
        assert other.any()
        assert not (cages & other).any(), name


def test_every_file_is_well_formed_sized_in_mm_and_says_what_it_shows(built: Any) -> None:
    for entry in built.book.entries:
        for folder in ("puzzles", "answers"):
            tree = ET.parse(built.folder / folder / f"{entry.id}.svg").getroot()
            side = entry.puzzle.size * built.book.layout.puzzles.cell + 6
            assert float(tree.attrib["width"].removesuffix("mm")) == pytest.approx(side, abs=0.01)
            box = [float(number) for number in tree.attrib["viewBox"].split()]
            assert box[2] / MM == pytest.approx(side, abs=0.01)
            assert tree.findtext(f"{SVG}title") == entry.title
            assert tree.findtext(f"{SVG}desc", "").startswith(f"{entry.puzzle.size} by {entry.puzzle.size} grid")
            assert not list(tree.iter(f"{SVG}text")), "text is outlined, so no reader's font can change it"


def test_one_path_per_cage_and_labels_as_words(built: Any) -> None:
    for entry in built.book.entries:
        tree = ET.parse(built.folder / "puzzles" / f"{entry.id}.svg").getroot()
        groups = {group.attrib.get("class"): group for group in tree.iter(f"{SVG}g")}
        paths = list(groups["cages"])
        assert len(paths) == len(entry.puzzle.cages)
        assert all(path.attrib["d"].endswith("Z") and "stroke-dasharray" in path.attrib for path in paths)
        labels = [group.attrib["aria-label"] for group in groups["sums"]]
        assert labels == [str(cage.total) for cage in entry.puzzle.cages]
