"""Words without room on their page: a fault where they stand, and nothing written."""

from __future__ import annotations

from pathlib import Path

import pytest

from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit

BOOK = """\
book: {title: T, layout: a5-one-up}
puzzles:
  - id: lamp
    title: The Lamp Room
    note: WORDS
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""


@pytest.mark.parametrize("press", [True, False], ids=["press", "screen"])
@pytest.mark.parametrize("words", ["W" * 300, "many words and more " * 200], ids=["one", "many"])
def test_a_note_without_room_is_located(
    words: str, press: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    """A screen's file is held to no safety margin, and shows such a word as faithfully as any."""
    book = tmp_path / "book.yaml"
    book.write_text(BOOK.replace("WORDS", words), encoding="utf-8")
    arguments = ["build", str(book), "--out", str(tmp_path / "out"), "--no-cache"]
    assert main(arguments + ["--press"] * press) == Exit.FAULTS
    said = capsys.readouterr().err
    assert f"{book}:5:11: there is no room for this on page " in said
    assert "drew the file wrong" not in said and not (tmp_path / "out" / "book.pdf").exists()


def test_a_cover_without_room_is_not_blamed_on_the_first_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    """The cover's page 1 is not the book's."""
    book = tmp_path / "book.yaml"
    cover = "book: {title: T, layout: a5-one-up, cover: {paper: bulky-79, blurb: '" + "W" * 300 + "'}}"
    book.write_text(BOOK.replace("WORDS", "short").replace("book: {title: T, layout: a5-one-up}", cover))
    assert main(["build", str(book), "--out", str(tmp_path / "out"), "--no-cache", "--press"]) == Exit.FAULTS
    said = capsys.readouterr().err
    assert "on page 1" not in said and f"{book}:1:" in said


def test_a_page_too_narrow_for_notes_is_blamed_on_the_layout(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    """Nine cells across 49 mm: notes that can be read have no room in a picture."""
    wide = (root / "layouts" / "shelf" / "a5-one-up.yaml").read_text(encoding="utf-8")
    narrow = wide.replace("width: 148", "width: 80").replace("solutions: {columns: 2", "solutions: {columns: 1")
    (tmp_path / "narrow.yaml").write_text(narrow, encoding="utf-8")
    puzzle = (root / "books" / "slow-train" / "puzzles" / "summit-board.yaml").read_text(encoding="utf-8")
    (tmp_path / "summit.yaml").write_text(puzzle, encoding="utf-8")
    book = tmp_path / "book.yaml"
    book.write_text("book:\n  title: T\n  puzzles_from: summit.yaml\n  layout: narrow.yaml\n  solutions: full\n")
    assert main(["build", str(book), "--out", str(tmp_path / "out"), "--no-cache"]) == Exit.FAULTS
    said = capsys.readouterr().err
    assert f"{book}:4:11: its page is too narrow for pictures of 'summit-board' with notes of 5.5 pt" in said
    assert not (tmp_path / "out" / "book.pdf").exists()
