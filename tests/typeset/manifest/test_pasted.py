"""What is pasted, in each form there is."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

from cagework.solver.model import Cage, Cell, Given
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.drawn import Drawing, drawing_of
from cagework.typeset.manifest.notation import WIDEST
from cagework.typeset.manifest.pasted import read_pasted

ROOT = Path(__file__).parents[3]
FILES = sorted((ROOT / "books" / "slow-train" / "puzzles").glob("*.yaml"))[::5]


def of_file(file: Path) -> tuple[str, Drawing]:
    document = read_document(file)
    assert isinstance(document.data, dict)
    return document.text, drawing_of(document.data)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
@pytest.mark.parametrize("form", ["keys", "item", "book", "map", "table", "tabs"])
def test_a_puzzle_of_the_sample_book_is_read_in_every_form(file: Path, form: str) -> None:
    text, drawing = of_file(file)
    keys = text.replace("\n", "\n    ").rstrip() + "\n"
    block, sums = text.partition("map: |\n")[2].partition("sums:")[::2]
    if form == "table" or form == "tabs":
        made = io.StringIO()
        table = csv.writer(made, delimiter="," if form == "table" else "\t")
        table.writerow(["cage", "row", "column", "sum"])
        for number, cage in enumerate(drawing.cages):
            table.writerows([number, cell.row, cell.col, cage.total if cell == cage.first else ""]
                            for cell in cage.cells)
        text = made.getvalue()
    elif form != "keys":
        text = {"item": f"  - {keys}", "book": f"book: {{title: X}}\npuzzles:\n  - {keys}",
                "map": block + sums.partition("}")[0] + "}"}[form]
    found = read_pasted(text)
    assert found.slips == () and found.drawing is not None
    assert (found.drawing.size, found.drawing.cages) == (drawing.size, drawing.cages)
    if form in ("keys", "item", "book"):
        assert found.drawing == drawing


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_table_may_begin_with_a_mark_of_byte_order(delimiter: str) -> None:
    """As spreadsheets write U+FEFF before a text in UTF-8 (Unicode Standard, 23.8)."""
    text = "row,column,cage,sum\n1,1,a,7\n1,2,a,\n".replace(",", delimiter)
    found = read_pasted(f"\ufeff{text}")
    assert found == read_pasted(text) and found.drawing is not None
    assert found.drawing.cages == (Cage((Cell(1, 1), Cell(1, 2)), 7),)


@pytest.mark.parametrize("text", [
    "12.4\n....\n3..1\n....", "12.4....3..1....", "1 2 0 4\n0 0 0 0\n3 0 0 1\n0 0 0 0\n",
    "\n\n12-4\r\n----\r\n3--1\r\n----",
])
def test_digits_are_givens(text: str) -> None:
    assert read_pasted(text).drawing == Drawing(4, givens=(
        Given(Cell(1, 1), 1), Given(Cell(1, 2), 2), Given(Cell(1, 4), 4), Given(Cell(3, 1), 3),
        Given(Cell(3, 4), 1)))


def test_digits_of_a_large_grid_go_on_with_letters() -> None:
    rows = ["." * 16 for _ in range(16)]
    rows[3] = "G" + "." * 14 + "A"
    found = read_pasted("\n".join(rows)).drawing
    assert found is not None and found.givens == (Given(Cell(4, 1), 16), Given(Cell(4, 16), 10))


@pytest.mark.parametrize("sums", [
    "a 7, b 6\nc=9 d:~", "{a: 7, b: 6, c: 9, d: ~}", "a: 7\nb: 6\nc: 9\n", "a7 b6 c9"])
def test_sums_after_a_map_may_be_written_in_many_ways(sums: str) -> None:
    found = read_pasted(f"aabb\naabb\nccdd\nccdd\n\n{sums}")
    assert found.slips == () and found.drawing is not None
    assert [cage.total for cage in found.drawing.cages] == [7, 6, 9, None]


@pytest.mark.parametrize(("text", "place", "message"), [
    ("", (1, 1), "nothing"), (" \n\t\n", (1, 1), "nothing"), ("a poem\nof two lines", (1, 1), "no puzzle"),
    ("- 1\n- 2\n", (1, 1), "no puzzle"), ("id: x\nsums: {a: 1\n", (2, 7), "never closed"),
    ("  id: x\n  size: 4\n  cages: [{cells: r1c9}]\n", (3, 19), "off the grid"),
    ("aabb\naabb\nccdd\nccdd\na 7 z 3", (5, 5), "no such cage"),
    ("row,column,cage\n1,1,a\n", (1, 1), "no column 'sum'"),
    ("row,column,cage,sum\n1,1,a,7\n1,x,a,7\n", (3, 3), "numbers"),
    ("row;column;cage;sum\n1;1;a;7\n1;1;a;7\n", (3, 1), "twice"),
    ("row,column,cage,sum\n1,1,a,7\n1,2,a,8\n", (3, 7), "further up"),
    ("row,column,cage,sum\n1,1,a,seven\n", (2, 7), "whole number"),
    ("#..\n\n  ..\n...\n", (3, 3), "row 2 of the map has 2 squares"), (".#\n" * 31, (1, 1), "31 x 2"),
    ("#\n", (1, 1), "empty"), ("##..\nno map\n", (1, 1), "no puzzle"),
    ("kind: crossing-sums\nmap: |\n  ..\n  ..\nacross: [3]\ndown: [3, 4]\n", (5, 1), "1 sum across for 2 runs"),
])
def test_what_is_wrong_is_told_by_its_place(text: str, place: tuple[int, int], message: str) -> None:
    slip = read_pasted(text).slips[0]
    assert ((slip.line, slip.column), message in slip.message) == (place, True), slip


CORNER = "#..#\n....\n##..\n"


@pytest.mark.parametrize("text", [CORNER, "  # . . #\r\n\r\n. . . .\r\n# # . .", f"\ufeff\n{CORNER}\n\n"])
def test_a_map_of_black_and_white_squares_is_crossing_sums_without_sums(text: str) -> None:
    found = read_pasted(text)
    assert found.slips == () and found.drawing is not None and found.drawing.shape is not None
    assert found.drawing.shape.black == tuple(map(Cell.parse, ["r1c1", "r1c4", "r3c1", "r3c2"]))
    assert [(str(cage.first), len(cage.cells), cage.total) for cage in found.drawing.cages] == [
        ("r1c2", 2, None), ("r1c2", 2, None), ("r1c3", 3, None), ("r2c1", 4, None), ("r2c4", 2, None),
        ("r3c3", 2, None)]


@pytest.mark.parametrize("sums", [
    "across: [4, 18, 5]\ndown: [11, 7, ~]", "ACROSS 4 18 5\n\nDown 11;7;~\n", "down = 11, 7, ~\nacross = 4, 18, 5",
])
def test_sums_of_runs_after_a_map_may_be_written_in_many_ways(sums: str) -> None:
    """The same as keys of a manifest that say so."""
    keys = "kind: crossing-sums\nmap: |\n" + "".join(f"  {row}\n" for row in CORNER.split("\n")[:-1])
    found = read_pasted(f"{CORNER}\n{sums}")
    assert found.slips == () and found.drawing is not None
    assert found.drawing == read_pasted(f"{keys}across: [4, 18, 5]\ndown: [11, 7, ~]\n").drawing


def test_a_map_is_drawn_whatever_its_sums_are() -> None:
    found = read_pasted(f"{CORNER}across: [4, 18]\ndown: 11 seven 4\n")
    assert found.drawing == read_pasted(f"{CORNER}down: 11 ~ 4").drawing
    assert [(slip.line, slip.column) for slip in found.slips] == [(4, 1), (5, 10)]
    assert [slip.message for slip in found.slips] == [
        "2 sums across for 3 runs of two cells or more", "the sum 'seven' is not a whole number"]


def test_a_map_may_be_as_large_as_the_manifest_has_them() -> None:
    whole = read_pasted("\n".join(["#" + "." * (WIDEST - 1)] * WIDEST)).drawing
    assert whole is not None and whole.shape is not None and len(whole.shape.cells) == WIDEST * (WIDEST - 1)
    assert read_pasted("\n".join(["#."] * (WIDEST + 1))).drawing is None


def test_a_faulty_puzzle_is_drawn_with_its_faults() -> None:
    grid = "id: x\nsize: 4\nmap: |\n  aabb\n  aabb\n  ccdd\n  ccdd\n"
    found = read_pasted(grid + "sums: {a: 99, b: 10, c: 10, d: 10}\n")
    assert found.drawing is not None and found.drawing.cages[0].total == 99
    assert [(slip.line, slip.column) for slip in found.slips] == [(8, 11)]
