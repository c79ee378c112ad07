"""Slots as data: lengths, widths a page editor knows, and what a coarse paper holds."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
import yaml

from cagework.layouts.column import SLOTS, length, read_slot, shelf_slot, slot_names
from cagework.layouts.load import LayoutError
from cagework.solver.model import Cage, Cell, Given, Puzzle, standard_houses
from cagework.typeset.columns.load import load_series
from cagework.typeset.columns.norms import LeastCells, grid_look, limits_of, shortcomings, weights_of
from cagework.typeset.draw.grid import draw_grid
from cagework.typeset.marks import Group, Page
from cagework.typeset.preflight.profile import stock_limits
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.pdf import About, pdf_bytes

INCH = 25.4


@pytest.mark.parametrize(("written", "unit", "value"), [
    ("45 mm", "mm", 45), ("72 pt", "mm", INCH), ("6p", "mm", INCH), ("5p6", "pt", 66), ("1p", "pt", 12),
    (7, "pt", 7), ("7.5", "mm", 7.5), (45, "mm", 45), ("25.4mm", "pt", 72),
])
def test_lengths_in_mm_picas_and_points(written: object, unit: str, value: float) -> None:
    """A pica is 12 points, six to the inch, the point 1/72 in (the desktop trade's, as in PostScript)."""
    assert length(written, unit) == pytest.approx(value)


@pytest.mark.parametrize("written", ["wide", "12 cm", "", None, True, "-3 mm", "1e3", "p6"])
def test_what_is_no_length_is_refused(written: object) -> None:
    with pytest.raises(ValueError, match="a length is written as"):
        length(written, "mm")


@pytest.mark.parametrize(("columns", "inches"), [(1, 2 + 1 / 16), (2, 4.25), (3, 6 + 7 / 16), (6, 13)])
def test_columns_and_gutters_add_up_as_on_a_standard_page(columns: int, inches: float) -> None:
    """The Standard Advertising Unit: columns of 2 1/16 in (12p4.5), gutters of 1/8 in; three make 6 7/16 in and
    six 13 in (graphicdesign.spokanefalls.edu column inches; printbuyersonline.com item 1419).
    """
    slot = read_slot({"title": "SAU", "columns": columns, "column": "12p4.5", "gutter": "9 pt", "height": "100 mm",
                      "carries": ["grid"]}, "sau")
    assert slot.width == pytest.approx(inches * INCH)


def test_the_slots_that_come_with_the_tool() -> None:
    widths = {name: (shelf_slot(name).columns, shelf_slot(name).puzzles) for name in slot_names()}
    assert widths.items() >= {"single-column": (1, 1), "two-column": (2, 1), "four-column": (4, 1),
                              "strip": (1, 3)}.items()
    assert {"step", "hint", "answer"} <= set(shelf_slot("four-column").parts)
    assert all(shortcomings(shelf_slot(name)) == () for name in slot_names())


def altered(**keys: object) -> dict[str, object]:
    data = yaml.safe_load((SLOTS / "single-column.yaml").read_text(encoding="utf-8"))
    return data | keys


@pytest.mark.parametrize(("keys", "path", "said"), [
    ({"carries": ["grid", "weather"]}, ("carries", 1), "cannot carry 'weather'"),
    ({"carries": ["heading"], "sacrifice": []}, (), "at least its 'grid'"),
    ({"sacrifice": ["step"]}, (), "does not carry"),
    ({"sacrifice": ["grid"]}, (), "grid cannot be sacrificed"),
    ({"carries": [["grid", "title"]]}, ("carries", 0), "lines of its own"),
    ({"column": "wide"}, ("column",), "a length is written as"),
    ({"puzzles": 3}, (), "stands under 'each'"),
    ({"height": 0}, ("height",), "greater than 0"),
    ({"gutters": "4 mm"}, ("gutters",), "not permitted"),
    ({"carries": ["grid", {"beside": [{"columns": 2, "carries": ["rules"]}]}], "sacrifice": []}, (), "wider than"),
    *(({"carries": ["grid", {"beside": [{"columns": columns, "carries": carries}]}], "sacrifice": []},
       ("carries", 1), "one column wide or more")
      for columns, carries in ((0, ["rules"]), ("two", ["rules"]), (1, "rules"), (1, []))),
])
def test_a_slot_with_a_fault_names_it_by_its_key(
    keys: dict[str, object], path: tuple[object, ...], said: str,
) -> None:
    with pytest.raises(LayoutError) as caught:
        read_slot(altered(**keys), "bad")
    assert any(problem.path == path and said in problem.message for problem in caught.value.problems), \
        caught.value.problems


@pytest.mark.parametrize(("keys", "path", "said"), [
    ({"weights": {"cell": "0.3 pt"}}, ("weights", "cell"), "0.3 pt is thinner than newsprint holds: 0.5 pt"),
    ({"type": {"small": "6 pt"}}, ("type", "small"), "6 pt is smaller than newsprint holds: 7 pt"),
    ({"stock": "vellum"}, ("stock",), "no stock 'vellum'"),
])
def test_a_slot_that_asks_for_less_than_its_paper_holds_is_refused(
    keys: dict[str, object], path: tuple[object, ...], said: str,
) -> None:
    (problem,) = shortcomings(read_slot(altered(**keys), "thin"))
    assert problem.path == path and said in problem.message


def test_faults_of_a_slot_of_ones_own_are_located(own: Callable[..., Path], tmp_path: Path) -> None:
    (tmp_path / "mine.yaml").write_text("title: Mine\ncolumns: 1\ncolumn: 45 mm\nheight: 90 mm\n"
                                        "weights: {cell: 0.2 pt}\ncarries: [grid]\n")
    reading = load_series(own(slots="[{slot: mine.yaml, sizes: [4]}]"))
    assert reading.series is None
    assert [(fault.file.name, fault.line, fault.column) for fault in reading.faults] == [("mine.yaml", 5, 17)]


def test_the_table_is_one_and_newsprint_asks_for_most() -> None:
    """Minimums rise from coated paper to newsprint; the figures themselves are in stocks.yaml, with sources."""
    table = {str(stock): limits for stock, limits in stock_limits().items()}
    for name in ("line", "type", "reversed", "tint", "tinted_line", "gap"):
        assert getattr(table["newsprint"], name) > getattr(table["coated"], name)
    assert table["newsprint"].ink < table["coated"].ink


def worst_grid() -> Puzzle:
    """Two-figure sums in narrow cages, and a given under a sum in the corner of the grid."""
    span = range(1, 10)
    cages = [Cage((Cell(row, column), Cell(row + 1, column)), 17) for row in (1, 3, 5, 7) for column in span]
    return Puzzle(9, standard_houses(9), tuple(cages), (Given(Cell(1, 1), 8), Given(Cell(5, 5), 8)))


def ink(marks: tuple[Any, ...], side: float, fonts: Fonts) -> Any:
    data = pdf_bytes((Page(side, side, marks),), (), About("t", "", "", "en"), fonts)
    page = pypdfium2.PdfDocument(io.BytesIO(data))[0]
    return np.asarray(page.render(scale=10).to_pil().convert("L")) < 128


def test_at_the_least_cell_nothing_runs_together(fonts: Fonts) -> None:
    """On a raster by pdfium, at 720 dots to the inch: dashes, lines, sums and digits keep clear of each other."""
    slot = shelf_slot("single-column")
    puzzle = worst_grid()
    cell = LeastCells(slot, fonts).of(puzzle)
    grid = draw_grid(puzzle, (), grid_look(slot, cell, fonts), fonts, 9, 9)
    side = 9 * cell + 18
    parts = {part.name: part for part in grid.marks if isinstance(part, Group)}
    frame = tuple(mark for mark in grid.marks if not isinstance(mark, Group))
    cages = ink((parts["cages"], parts["knock-outs"]), side, fonts)
    lines = ink((parts["cells"], parts["regions"], *frame), side, fonts)
    sums, digits = (ink((parts[name],), side, fonts) for name in ("sums", "givens"))
    for one, other in combinations((cages, lines, sums, digits), 2):
        assert one.any() and other.any() and not (one & other).any()


def test_the_least_cell_leaves_type_at_its_least_and_a_column_room_for_nine(fonts: Fonts) -> None:
    slot = shelf_slot("single-column")
    cell = LeastCells(slot, fonts).of(worst_grid())
    look = grid_look(slot, cell, fonts)
    least = limits_of(slot).type
    assert look.least_label == least
    figures = fonts["sans-semibold"].figure_height
    assert look.digit_height * cell / figures >= least - 0.01
    assert 9 * cell + weights_of(slot).frame < slot.width / INCH * 72 - 2
    assert look.dashes.dash.off >= limits_of(slot).gap


def test_lines_of_regions_outweigh_the_dashes_on_either_side_where_cells_are_roomy(fonts: Fonts) -> None:
    looks = [grid_look(shelf_slot("two-column"), cell, fonts) for cell in (13.5, 18.0, 30.0)]
    assert [look.region_line > 2 * look.cage_line for look in looks] == [False, True, True]
    assert all(look.cell_line < look.cage_line < look.region_line < look.frame_line for look in looks)


def test_every_slot_that_comes_with_the_tool_is_set_and_passes_its_preflight(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    """Two dates a week apart, so that each has an answer to print. A run stops at anything the preflight finds."""
    slots = ", ".join(f"{{slot: {name}, sizes: [4]}}" for name in slot_names())
    done = made(own(count=2, slots=f"[{slots}]", days="{monday: stroll}"), tmp_path / "out")
    assert not any("left out" in note for note in done.notes)
    for name in slot_names():
        page = pypdfium2.PdfDocument(tmp_path / "out" / f"2027-03-08-{name}.pdf")[0]
        slot = shelf_slot(name)
        assert (page.get_width(), page.get_height()) == pytest.approx(
            (slot.width * 72 / INCH, slot.height * 72 / INCH), abs=0.02)
        said = page.get_textpage().get_text_range()
        titles = {f"The p{number:02}" for number in range(12) if f"The p{number:02}" in said}
        assert len(titles) == ("title" in slot.parts) * slot.puzzles
        assert ("How it begins" in said) is ("step" in slot.parts)


def test_slots_of_three_share_three_puzzles_that_no_other_slot_shows(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    made(own(count=3, slots="[{slot: strip, sizes: [4]}, {slot: two-column, sizes: [4]}]"), tmp_path / "out")
    with (tmp_path / "out" / "index.csv").open(newline="") as file:
        found = [row["puzzle"] for row in csv.DictReader(file)]
    assert len(found) == len(set(found)) == 12
