"""What an editor may write by a slip, or with reason: a located fault with a way out, or a book; no traceback."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manifest.characters import settled

PUZZLE = """\
  - id: lamp
    title: Lamp
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""
KIOSK = """\
  - id: kiosk
    title: Kiosk
    size: 4
    cages:
      - {sum: 7, cells: r1c1 r2c1 r2c2}
      - {sum: 6, cells: r1c2-r1c3 r2c3}
      - {sum: 8, cells: r1c4 r2c4-r3c4}
      - {sum: 10, cells: r3c1-r4c2}
      - {sum: 9, cells: r3c3 r4c3 r4c4}
    givens: {r4c4: 2}
    houses: [diagonals]
"""
LOCATED = re.compile(r":\d+:\d+: ")


def build(folder: Path, book: str, puzzle: str = PUZZLE) -> int:
    manifest = folder / "book.yaml"
    manifest.write_bytes(f"book: {{{book}}}\npuzzles:\n{puzzle}".encode("utf-8", "surrogateescape"))
    return main(["build", str(manifest), "--out", str(folder / "out"), "--press", "--no-cache"])


@pytest.mark.parametrize(("book", "says"), [
    (f"title: T, layout: {'x' * 300}", "layout"),
    ("title: T, press: {date: 2026}", "date"),
    ("title: T, press: {date: 26.3.2026}", "date"),
    ("title: '\u200b'", "'title' is empty"),
    ("title: T, introduction: '\u200b \u00ad'", "'introduction' is empty"),
    ("title: T, cover: {binding: 2026}", "'binding' must be perfect or saddle"),
    ("title: '\udcff\udcfe'", "UTF-8"),
    ("title: 'T \\0'", ""),
], ids=["a long name", "a year", "another order", "nothing to see", "no prose to see", "another kind",
        "other bytes", "a backslash"])
def test_a_slip_is_located(book: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status = build(tmp_path, book)
    said = capsys.readouterr().err
    if says:
        assert status in (Exit.FAULTS, Exit.UNREADABLE) and says in said and LOCATED.search(said), said
        assert not (tmp_path / "out").exists()
    else:
        assert status == Exit.FINE


@pytest.mark.parametrize("words", [
    "A \u2028 B", "Karst\u00adland\u00adschaft", "A\u00a0B", "\u201cA\u201d \u2014 \u2026", "e\u0301te\u0301",
    "Ten\u2009000", "Ten\u202f000", "A\\rB", "A\\x1cB", "A\\x1fB", "A\u1680B", "A\\uFFFDB",
], ids=ascii)
def test_odd_characters_are_set_or_located(words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Wherever words are printed: one book has them in four places, and what cannot be set is named in each."""
    value = f'"{words}"'
    status = build(tmp_path, f"title: {value}, by: {value}, introduction: {value}, imprint: [{value}]")
    said = capsys.readouterr().err
    assert "drew the file wrong" not in said
    assert status == Exit.FINE or (status == Exit.FAULTS and len(set(LOCATED.findall(said))) == 4), said


def test_a_note_may_have_lines(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    note = "Warm.\\nDry.\\n\\nWarm.\\tDry.\\r\\nWarm.\u2028    Dry.\u2029Warm."
    assert build(tmp_path, "title: T", f'{PUZZLE}    note: "{note}"\n') == Exit.FINE, capsys.readouterr().err


def test_of_all_blanks_four_are_left() -> None:
    blanks = "".join(char for char in map(chr, range(sys.maxunicode + 1)) if char.isspace())
    assert set(settled(blanks)) == set(" \u00a0\t\n")


@pytest.mark.parametrize(("start", "out", "status", "says"), [
    ("0001-01-01", "columns", Exit.FINE, ""),       # the answer of the week before is of no year at all
    ("2027-03-01", "/", Exit.NOT_WRITTEN, "cannot write /: it cannot be replaced as a whole"),
], ids=["the year 1", "the root"])
def test_columns_are_made_or_refused_in_plain_words(
    start: str, out: str, status: Exit, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "pool.yaml").write_text(f"puzzles:\n{PUZZLE}    grade: stroll\n", encoding="utf-8")
    manifest = tmp_path / "series.yaml"
    manifest.write_text(f"series: {{id: s, title: S, start: {start}, count: 1, days: {{monday: stroll}}}}\n"
                        "pool: pool.yaml\nslots: [{slot: four-column, sizes: [4]}]\n", encoding="utf-8")
    found = main(["columns", str(manifest), "--out", str(Path(tmp_path, out)), "--no-cache"])
    said = capsys.readouterr().err
    assert (found, says in said) == (status, True), said


@pytest.mark.parametrize(("key", "value"), [
    ("region", 0.55),       # in a small grid most borders are the frame's: they do not say what a region's weighs
    ("gap", 2.4),           # a grade at the right of one puzzle's slot comes close to the next one's number
])
def test_a_layout_of_ones_own_is_read_back_as_it_is(
    key: str, value: float, root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    text = (root / "layouts" / "shelf" / "letter-four-up.yaml").read_text(encoding="utf-8")
    text, count = re.subn(rf"\b{key}: [\d.]+", f"{key}: {value}", text, count=1)
    (tmp_path / "own.yaml").write_text(text, encoding="utf-8")
    assert count == 1
    status = build(tmp_path, "title: T, layout: own.yaml, solutions: full", PUZZLE + KIOSK)
    assert status == Exit.FINE, capsys.readouterr().err


@pytest.mark.parametrize(("written", "instead", "says"), [
    ("cage: 0.5", "cage: 19", "a line of more than 4.3 pt leaves no room in a cell of 7.6 mm"),
    ("title: 11", "title: 110", "headings and titles must not be set larger than the display size"),
    ("size: 9.4", "size: 47", "worked solutions must not be set larger than headings"),
    ("rows: 3, gap: 8", "rows: 3, gap: 0",
     "the grids of a page need gaps of at least 1 mm, or their headings touch"),
    ("size: 9.4, cell: 7", "size: 9.4, cell: 0.5",
     "cells of less than 5 mm have no room for what a diagram shows"),
    ("columns: 2, gap: 9", "columns: 5, gap: 9",
     "worked solutions in type of 9.4 pt need columns of at least 30 mm"),
])
def test_what_no_page_has_room_for_is_the_layouts_fault(
    written: str, instead: str, says: str, root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    text = (root / "layouts" / "shelf" / "a4-six-up.yaml").read_text(encoding="utf-8")
    assert text.count(written) == 1
    (tmp_path / "own.yaml").write_text(text.replace(written, instead), encoding="utf-8")
    assert build(tmp_path, "title: T, layout: own.yaml") == Exit.FAULTS
    assert f"{tmp_path / 'own.yaml'}:2:1: {says}" in capsys.readouterr().err


@pytest.mark.parametrize(("rows", "label", "status"), [
    (7, 16, Exit.FAULTS),       # headings and feet take more than the whole of a slot
    (4, 16, Exit.FAULTS),       # a given under its sum would stand in the cell below
    (2, 30, Exit.FINE),         # a given stands low, clear of its sum
])
def test_a_sum_has_room_in_its_cell_or_the_layout_is_at_fault(
    rows: int, label: int, status: Exit, root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    text = (root / "layouts" / "shelf" / "a4-large-print.yaml").read_text(encoding="utf-8")
    for written, instead in (("puzzles: {columns: 1, rows: 1", f"puzzles: {{columns: 1, rows: {rows}"),
                             ("label: 16", f"label: {label}")):
        assert text.count(written) == 1
        text = text.replace(written, instead)
    (tmp_path / "own.yaml").write_text(text, encoding="utf-8")
    found = build(tmp_path, "title: T, layout: own.yaml, solutions: none", f"{PUZZLE}    givens: {{r1c1: 2}}\n")
    said = capsys.readouterr().err
    assert found == status, said
    assert status == Exit.FINE or re.search(r"book.yaml:1:\d+: page \d+ has no room for what stands on it", said)
