"""`export`, run as an editor runs it, and what Python's own readers make of its files."""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pytest
from PIL import Image

from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.puzzle_files import find_puzzle

LAMP = """\
id: lamp
title: "=Lamp, the \\"first\\""
by: Jörg
grade: stroll
remark: mine alone
size: 4
map: |
  aabc
  dabc
  deec
  dfff
sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""
FORK = "id: fork\nsize: 4\ncages: []\ngivens: {r1c1: 1}\nhouses: [diagonals]\n"


def said(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    """Status, output and what a terminal is told."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys.stderr, "isatty", lambda: True)
        status = main([str(word) for word in words])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.fixture(name="done", scope="module")
def _done(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Any:
    """A book with a small puzzle, crossing sums and one with crooked regions, exported."""
    folder = tmp_path_factory.mktemp("export")
    (folder / "lamp.yaml").write_text(LAMP, encoding="utf-8")
    for name, file in (("crooked-fields", "slow-train/puzzles/crooked-fields.yaml"),
                       ("first-gap", "clear-skies/puzzles/6-between-clouds.yaml")):
        found = find_puzzle(read_document(root / "books" / file), name)
        assert found is not None
        (folder / f"{name}.yaml").write_text(emitted(found[1]), encoding="utf-8")
    (folder / "book.yaml").write_text(
        "book: {title: Lights, language: de, puzzles_from: [lamp.yaml, first-gap.yaml, crooked-fields.yaml]}\n"
        "sections:\n  - {title: One, puzzles: [lamp]}\n  - {title: Two, puzzles: [crooked-fields, first-gap]}\n",
        encoding="utf-8")
    status = main(["export", str(folder / "book.yaml"), "--out", str(folder / "out"), "--png", "300"])
    out = folder / "out"
    return SimpleNamespace(status=status, out=out, book=folder / "book.yaml", **{
        name: json.loads((out / f"{name}.json").read_text(encoding="utf-8")) for name in ("puzzles", "paths")})


def test_each_puzzle_is_told_with_its_place_its_answer_and_its_grade(done: Any) -> None:
    assert done.status == Exit.FINE and done.puzzles["format"] == done.paths["format"] == 1
    assert done.puzzles["book"] == {"title": "Lights", "subtitle": None, "by": None, "language": "de"}
    lamp, crooked, gap = done.puzzles["puzzles"]
    assert [(one["id"], one["section"], one["number"]) for one in (lamp, crooked, gap)] == [
        ("lamp", "One", 1), ("crooked-fields", "Two", 2), ("first-gap", "Two", 3)]
    assert (lamp["title"], lamp["by"], lamp["outcome"], lamp["grade"]) == (
        '=Lamp, the "first"', "Jörg", "sound", "stroll")
    assert "remark" not in lamp["puzzle"] and gap["kind"] == "crossing-sums"
    rows = [lamp["answer"][at:at + 4] for at in range(0, 16, 4)]
    assert all(sorted(line) == list("1234") for line in (*rows, *map("".join, zip(*rows, strict=True))))
    grid = lamp["puzzle"]["map"].split()
    for letter, total in lamp["puzzle"]["sums"].items():
        in_cage = [(row, col) for row in range(4) for col in range(4) if grid[row][col] == letter]
        assert total == sum(int(rows[row][col]) for row, col in in_cage)


def test_paths_lead_to_the_answers_and_are_told_in_the_books_language(done: Any) -> None:
    for told, one in zip(done.paths["paths"], done.puzzles["puzzles"], strict=True):
        assert (told["id"], told["solved"], len(told["steps"])) == (one["id"], True, one["steps"])
        placed = {cell: digit for step in told["steps"] for cell, digit in step["places"].items()}
        cells = [f"r{row}c{col}" for row in range(1, one["rows"] + 1) for col in range(1, one["columns"] + 1)]
        assert "".join(str(placed.get(cell, ".")) for cell in cells) == one["answer"]
        assert all(step["proved"] for step in told["steps"])
    assert " Summe" in done.paths["paths"][0]["shape"] or "Käfig" in str(done.paths["paths"][0]["steps"])


def test_tables_are_read_by_pythons_own_reader(done: Any) -> None:
    """Lines end as RFC 4180 has it, and no field is a formula."""
    raw = (done.out / "puzzles.csv").read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf") and raw.count(b"\r\n") == raw.count(b"\n") == 4
    rows = list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"), newline=""), strict=True))
    assert rows[0]["title"] == '\'=Lamp, the "first"'
    for row, one in zip(rows, done.puzzles["puzzles"], strict=True):
        assert (row["id"], float(row["score"])) == (one["id"], one["score"])
        assert row["answer"].replace(" ", "") == one["answer"]
        assert max(map(len, row["answer"].split())) == one["columns"], "a spreadsheet rounds long numbers"


@pytest.mark.parametrize("file", ["cells.csv", "puzzles.json"])
def test_what_import_makes_of_it_are_the_same_puzzles(
    file: str, done: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    again = tmp_path / "again.yaml"
    assert said(capsys, "import", done.out / file, "--out", again)[0] == Exit.FINE
    before, after = (load_book(one, puzzles_suffice=True) for one in (done.book, again))
    assert not after.failed
    assert {one.id: (one.entry.title, one.entry.puzzle) for one in after.puzzles if one.entry} == {
        one.id: (one.entry.title, one.entry.puzzle) for one in before.puzzles if one.entry}
    assert said(capsys, "check", again)[0] == Exit.FINE, "answers that came along are the proved ones"


def test_each_grid_has_its_pictures(done: Any) -> None:
    for one in done.puzzles["puzzles"]:
        for folder in ("puzzles", "answers"):
            files = one["pictures"][folder]
            assert files == {"svg": f"{folder}/{one['id']}.svg", "png": f"{folder}/{one['id']}.png"}
            assert ElementTree.parse(done.out / files["svg"]).getroot().tag == "{http://www.w3.org/2000/svg}svg"
            with Image.open(done.out / files["png"]) as picture:
                assert picture.width == 300 and picture.convert("L").getextrema() == (0, 255)


def test_a_puzzle_that_is_not_sound_has_no_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, out = tmp_path / "two.yaml", tmp_path / "out"
    file.write_text(f"puzzles:\n  - {LAMP.replace(chr(10), chr(10) + '    ')}\n"
                    f"  - {FORK.replace(chr(10), chr(10) + '    ')}\n", encoding="utf-8")
    status, text, rest = said(capsys, "export", file, "--out", out)
    assert status == Exit.FAULTS and text == f"{out}: 2 puzzles, 1 of them without an answer, 7 files\n"
    assert "'fork' is not sound, and is exported without an answer: two answers differ" in rest
    assert f"next: cagework check --why {file}" in rest
    _, fork = json.loads((out / "puzzles.json").read_text(encoding="utf-8"))["puzzles"]
    assert (fork["outcome"], fork["answer"], fork["grade"], fork["pictures"]["answers"]) == (
        "two-answers", None, None, {})
    assert [one["id"] for one in json.loads((out / "paths.json").read_text(encoding="utf-8"))["paths"]] == ["lamp"]


def test_faults_and_files_of_others_stop_it_before_anything_is_written(
    done: Any, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(LAMP.replace("size: 4", "size: 3"), encoding="utf-8")
    assert said(capsys, "export", wrong, "--out", tmp_path / "out")[0] == Exit.FAULTS
    assert not (tmp_path / "out").exists()
    file = tmp_path / "lamp.yaml"
    file.write_text(LAMP, encoding="utf-8")
    (tmp_path / "puzzles.csv").write_text("mine", encoding="utf-8")
    status, _, fault = said(capsys, "export", file, "--out", tmp_path)
    assert status == Exit.NOT_WRITTEN and "puzzles.csv is no export's, and nothing was written" in fault
    assert (tmp_path / "puzzles.csv").read_text(encoding="utf-8") == "mine"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["lamp.yaml", "puzzles.csv", "wrong.yaml"]
