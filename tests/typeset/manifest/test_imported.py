"""Tables, texts and JSON to puzzles, each fault where it stands."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cagework.solver.model import Puzzle
from cagework.typeset.faults import UnreadableManifest
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.emit import emitted_list
from cagework.typeset.manifest.forms import read_forms
from cagework.typeset.manifest.imported import Imports, read_imports
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.nodes import Spot
from cagework.typeset.manifest.puzzle_files import find_puzzle
from cagework.typeset.manifest.records import Field, harmful, harmless, records, table
from cagework.typeset.manifest.tabled import HEAD, cell_rows

ROOT = Path(__file__).parents[3]
BOOKS = sorted((ROOT / "books").glob("*/book.yaml"))


def puzzles_of(book: Path) -> Iterator[tuple[dict[str, Any], Puzzle]]:
    """The keys of each puzzle of a book, and what they mean."""
    for one in load_book(book).puzzles:
        assert one.entry is not None
        found = find_puzzle(read_document(one.file), one.entry.id)
        assert found is not None
        yield {"id": one.entry.id, **found[1]}, one.entry.puzzle


def meant(imports: Imports, folder: Path) -> dict[str, Puzzle]:
    """What imported keys mean once they are files again."""
    file = folder / "again.yaml"
    file.write_text(emitted_list(imports.puzzles.values()), encoding="utf-8")
    reading = load_book(file, puzzles_suffice=True)
    assert not reading.failed
    return {one.entry.id: one.entry.puzzle for one in reading.puzzles if one.entry}


@pytest.mark.parametrize("book", BOOKS, ids=lambda book: book.parent.name)
@pytest.mark.parametrize("form", ["csv", "json"])
def test_every_puzzle_of_the_sample_books_comes_back_as_it_was(book: Path, form: str, tmp_path: Path) -> None:
    """Cages, crooked regions, rules, givens, crossing sums, and what puzzles are called."""
    known = list(puzzles_of(book))
    file = tmp_path / f"all.{form}"
    if form == "csv":
        file.write_bytes(table([HEAD, *(row for keys, _ in known for row in cell_rows(keys, None))]))
    else:
        file.write_text(json.dumps({"format": 1, "puzzles": [{"puzzle": keys} for keys, _ in known]}),
                        encoding="utf-8")
    found = read_imports([file])
    assert not found.failed, found.faults
    assert meant(found, tmp_path) == {keys["id"]: puzzle for keys, puzzle in known}
    for keys, _ in known:
        said = found.puzzles[keys["id"]]
        for key in ("title", "by", "grade", "note", "rules", "houses"):
            assert said.get(key) == keys.get(key), (keys["id"], key)


LAMP = {"a": (7, "r1c1 r1c2 r2c2"), "b": (6, "r1c3 r2c3"), "c": (6, "r1c4 r2c4 r3c4"), "d": (8, "r2c1 r3c1 r4c1"),
        "e": (4, "r3c2 r3c3"), "f": (9, "r4c2 r4c3 r4c4")}


SQUARE = "aabb\naabb\nccdd\nccdd\n"


def by_cage(*names: str, separator: str = ",") -> str:
    made = io.StringIO()
    writer = csv.writer(made, delimiter=separator)
    writer.writerow(["Sum", "puzzle", "cells", "size"])
    for name in names:
        writer.writerows([total, name, cells, 4] for total, cells in LAMP.values())
    return made.getvalue()


@pytest.mark.parametrize("text", [
    by_cage("lamp"), by_cage("lamp", separator=";").replace("Sum;puzzle;cells", 'Summe;Ra\u0308tsel;"Felder"'),
    "\ufeff" + by_cage("lamp", separator=";"), by_cage("lamp", separator="\t"),
    "id: lamp\n\n a a b c\n d a b c\n d e e c\n d f f f\nsums: a 7 b 6 c 6 d 8 e 4 f 9\n",
    "---\nid: lamp\nsize: 4\nmap: |\n  aabc\n  dabc\n  deec\n  dfff\nsums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}\n",
    json.dumps({"id": "lamp", "size": 4, "cages": [
        {"sum": total, "cells": cells} for total, cells in LAMP.values()]}, indent="\t"),
])
def test_one_puzzle_is_the_same_in_every_form(text: str, tmp_path: Path) -> None:
    file = tmp_path / "some.txt"
    file.write_text(text, encoding="utf-8")
    found = read_imports([file])
    assert not found.failed and list(found.puzzles) == ["lamp"], found
    cages = {" ".join(map(str, cage.cells)): cage.total for cage in meant(found, tmp_path)["lamp"].cages}
    assert cages == {cells: total for total, cells in LAMP.values()}


def test_ids_come_from_the_file_where_nothing_else_says_them(tmp_path: Path) -> None:
    grid, other = (f"aabe\naabe\nccdd\nccdd\na 10 b {10 - total} e {total} c 10 d 10" for total in (3, 4))
    (tmp_path / "Küche 3.txt").write_text(grid, encoding="utf-8")
    (tmp_path / "zwei.txt").write_text(f"{grid}\n---\ntitle: Oben\n{other}\n", encoding="utf-8")
    found = read_imports([tmp_path / "Küche 3.txt", tmp_path / "zwei.txt"])
    assert list(found.puzzles) == ["Kuche-3", "zwei-1", "zwei-2"] and found.puzzles["zwei-2"]["title"] == "Oben"
    assert [(fault.line, fault.is_error) for fault in found.faults if "again" in fault.message] == [(1, False)]


SUMMED = f"{SQUARE}a=10\nb=10\nc=10\nd=10\n"
CROSSED = "#..\n...\n...\nacross: 3 6 6\ndown: 3 6 6\n"


@pytest.mark.parametrize(("above", "text", "title"), [
    ("The Ringing Room\n", SUMMED, "The Ringing Room"), ("Bell", SUMMED, "Bell"),
    ("  # No. 3: Bells: \n\nby: Ada\n", SUMMED, "No. 3: Bells"), ("by: Ada\nBells\n", SUMMED, "Bells"),
    ("Bells\n", CROSSED, "Bells"), ("Bell\n", "1...\n..3.\n....\n...2\n", "Bell"),
    ("", SUMMED, None), ("title: Bells\n", SUMMED, "Bells"),
])
def test_a_line_above_a_map_is_its_title(above: str, text: str, title: str | None) -> None:
    (form,) = read_forms(Path("x.txt"), f"{above}\n{text}")
    (bare,) = read_forms(Path("x.txt"), text)
    keys, own = form.keys(form.paths[0]), bare.keys(bare.paths[0])
    assert (keys.get("title"), form.is_keys, form.document.faults) == (title, False, ())
    assert keys["map" if "map" in own else "givens"].split() == text.split()[:len(text.split("\n")[0])]


@pytest.mark.parametrize("text", [
    "id: x\nmap: |\n aabb\n aabb\n ccdd\n ccdd\nsums: {a: 10}", "givens: |\n 1...\n ....\n ....\n ...2",
    "aabb\naabb\naabb\nccdd\nccdd", "aab\naabb\nccdd\nccdd\na=10\nb=10",
])
def test_no_key_and_no_row_of_a_map_is_taken_for_a_title(text: str) -> None:
    with suppress(UnreadableManifest):
        (form,) = read_forms(Path("x.txt"), text)
        assert "title" not in form.keys(form.paths[0])


@pytest.mark.parametrize(("text", "faults"), [
    ("puzzle,sum,cells\nx,ten,r1c1-r1c2\n,3,r9c9 r9c8\ny,4,r1c1 r1c3\ny,2,r1c1\n", {
        (2, 3): "not a whole number", (4, 10): "in 2 pieces", (5, 5): "in cage 2 and in cage 1"}),
    ('row;column;cage;sum\n1;1;a;"7\n', {(2, 7): "never closed"}),
    ('row,column,cage,sum\n1,1,a,7,8\n1,2,"a"b,7\n', {(2, 9): "more than the head", (3, 5): "after the closing"}),
    ("row,column,cage,sum,given\n1,1,a,3,5\n1,2,a,,x\n2,1,,4,\n", {
        (2, 9): "the given 5", (3, 8): "must be a digit", (4, 6): "no cage that it belongs to"}),
    ("row,column,cage,sum,cage\n", {(1, 1): "two columns 'cage'"}),
    ("puzzle,row,column,cage,sum\n,1,1,a,\n", {(2, 2): "which puzzle"}),
    ("row,column,cage,sum,title,rules\n1,1,a,3,One,diagonls\n1,2,a,3,Two,\n", {
        (2, 13): "no rule called 'diagonls'", (3, 9): "another title in line 2"}),
    ("row,column,cage,sum,region\n1,1,a,1,AB\n", {(2, 9): "named by one character"}),
    ("row,column,cage,sum,kind,across\n1,1,,,crossing-sums,3\n1,2,,,,4\n2,1,#,,,\n2,2,#,,,\n", {
        (3, 8): "no run across begins at r1c2"}),
    ("aabb\naabb\nccdd\nccdd\na 10 b 99 c 10\n", {(3, 3): "'d' has no sum", (5, 6): "cannot add to 99"}),
    ("id: a b\naabb\naabb\nccdd\nccdd\na 10 b 10 c 10 d 10", {(1, 5): "cannot be an id"}),
    ('{"id": "x",\n "size": 4,\n "sums": {"a" 3}}', {(3, 15): "not JSON"}),
    ('{"id": "x",\n "size": 4, "mop": "",\n "cages": [{"cells": "r1c9"}]}', {
        (2, 13): "'mop'", (3, 23): "off the grid"}),
    ("id,row\n", {(1, 1): "no puzzle"}),
])
def test_all_that_is_wrong_is_told_where_it_stands(
    text: str, faults: dict[tuple[int, int], str], tmp_path: Path,
) -> None:
    file = tmp_path / "x.csv"
    file.write_text(text, encoding="utf-8")
    found = read_imports([file])
    assert found.failed and found.puzzles == {}
    said = {(fault.line, fault.column): fault.message for fault in (*found.unreadable, *found.faults)
            if fault.is_error}
    assert {place: message in said.get(place, "") for place, message in faults.items()} == dict.fromkeys(
        faults, True), said


@pytest.mark.parametrize(("text", "place", "hint"), [
    (f"{SQUARE}a=10 b=1O c=10 d=10", (5, 8), "did you mean 10?"),
    (f"{SQUARE}a l0\nb 10 c 10 d 10", (5, 3), "did you mean 10?"),
    (f"{SQUARE}sums: {{a: 10, b: 10, c: O, d: 10}}", (5, 25), "write it in digits: 'O' is a letter"),
    (f"{SQUARE}a=10 b=ten c=10 d=10", (5, 8), "write it in digits, or ~ for none"),
    ("sum;cells\nl0;r1c1-r2c2\n", (2, 1), "did you mean 10?"),
    ("sum;cells\nten;r1c1-r2c2\n", (2, 1), "leave it empty for none"),
    ('{"size": 4, "cages": [{"sum": "1O", "cells": "r1c1-r2c2"}]}', (1, 31), "did you mean 10?"),
])
def test_a_sum_with_letters_for_digits_is_told_where_it_stands(
    text: str, place: tuple[int, int], hint: str, tmp_path: Path,
) -> None:
    """And nothing else is: no cage is said to have no sum."""
    file = tmp_path / "x.txt"
    file.write_text(text, encoding="utf-8")
    (fault,) = (one for one in read_imports([file]).faults if one.is_error)
    assert ((fault.line, fault.column), fault.hint) == (place, hint)


def test_a_sum_of_a_run_with_letters_for_digits_is_told_where_it_stands(tmp_path: Path) -> None:
    file = tmp_path / "x.txt"
    file.write_text("#..\n#..\nacross: 3 I7\ndown: 3 17", encoding="utf-8")
    fault = read_imports([file]).faults[0]
    assert ((fault.line, fault.column), fault.hint) == ((3, 11), "did you mean 17?")


def test_a_letter_l_may_name_a_cage_whose_sum_follows_at_once(tmp_path: Path) -> None:
    file = tmp_path / "x.txt"
    file.write_text("llOO\nllOO\nccdd\nccdd\nl10 O 10, c10 d: 10", encoding="utf-8")
    found = read_imports([file])
    assert not found.failed and [one.total for one in meant(found, tmp_path)["x"].cages] == [10] * 4


def test_an_id_that_comes_twice_is_told_whatever_files_it_is_in(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / f"{name}.csv").write_text(by_cage("lamp"), encoding="utf-8")
    found = read_imports([tmp_path / "one.csv", tmp_path / "two.csv"])
    assert [(fault.file.name, fault.line) for fault in found.faults if fault.is_error] == [("two.csv", 2)]


TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]) | st.sampled_from(',;"=+-@\n'))


@given(st.lists(st.lists(TEXTS, min_size=2, max_size=4), min_size=1, max_size=4))
def test_fields_are_those_that_pythons_own_module_wrote(rows: list[list[str]]) -> None:
    made = io.StringIO(newline="")
    csv.writer(made, lineterminator="\n", quoting=csv.QUOTE_ALL).writerows(rows)
    text = made.getvalue()
    *found, last = records(text, 0, ",")
    assert last == [Field("", Spot(len(text)))]
    assert [[one.text for one in row] for row in found] == [[harmful(one.strip()) for one in row] for row in rows]
    for row in found:
        for one in row:
            shown = text[one.spot.start:one.spot.start + one.spot.length]
            assert harmful(next(csv.reader([shown], strict=True))[0].strip()) == one.text or "\n" in shown


@given(TEXTS)
def test_no_text_is_a_formula_and_each_comes_back(text: str) -> None:
    """A spreadsheet takes for a formula what begins with one of these (OWASP, "CSV Injection")."""
    said = harmless(text)
    assert not said.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert harmful(said) == text or said == text
