"""The read-back behind its two doors: a build that drew a digit wrong writes nothing, and a file that came back
from elsewhere is held against its book.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from pikepdf import Operator, String

from cagework.solver.model import Cell
from cagework.typeset import build as builder
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.draw.shown import GridKind

RAILS = "crossed-rails"


@pytest.fixture
def wrong(little: Any, spoiled: Any) -> tuple[bytes, str]:
    """The little book with a digit changed, and what is to be said of it."""
    place, cell = little.grid(GridKind.ANSWER, RAILS), Cell(7, 7)
    right = little.original.solved.answers[RAILS].at(cell)
    other = right % 9 + 1

    def swap(page: Any) -> None:
        page.code[page.in_cell(place, cell)] = ([String(str(other))], Operator("Tj"))

    return spoiled(place.page, swap), (f"page {place.page}, answer of '{RAILS}', r7c7: '{other}' stands where the "
                                       f"digit {right} should")


def test_a_build_that_draws_a_digit_wrong_leaves_the_old_book(
    wrong: tuple[bytes, str], little_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "book.pdf").write_bytes(b"the old book")
    monkeypatch.setattr(builder, "pdf_bytes", lambda *_, **__: wrong[0])
    assert main(["build", str(little_folder / "book.yaml"), "--out", str(tmp_path)]) == Exit.FAULTS
    said = capfd.readouterr().err
    assert f"book.pdf: {wrong[1]}" in said
    assert "nothing was written: 1 fault to mend" in said
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == ["book.pdf"]
    assert (tmp_path / "book.pdf").read_bytes() == b"the old book"


def test_both_files_of_a_press_build_are_the_book(
    little_folder: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    """On its sheet with bleed and marks, the press file is found by its trim."""
    manifest = str(little_folder / "book.yaml")
    assert main(["build", manifest, "--press", "--out", str(tmp_path)]) == Exit.FINE
    for name, purpose in (("book.pdf", "screen"), ("book-press.pdf", "press")):
        assert main(["preflight", str(tmp_path / name), "--for", purpose, "--against", manifest]) == Exit.FINE
        assert f"{tmp_path / name}: held against {manifest}: it is the book" in capfd.readouterr().out


def test_a_file_that_came_back_wrong(
    wrong: tuple[bytes, str], little_folder: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "back.pdf").write_bytes(wrong[0])
    arguments = ["preflight", str(tmp_path / "back.pdf"), "--for", "screen", "--against",
                 str(little_folder / "book.yaml")]
    assert main(arguments) == Exit.FAULTS
    said = capfd.readouterr().out
    assert wrong[1] in said
    assert "1 difference" in said
    assert main([*arguments, "--json"]) == Exit.FAULTS
    (told,) = json.loads(capfd.readouterr().out)["differences"]
    assert (told["of"], told["cell"]) == (f"answer of '{RAILS}'", "r7c7")
    assert told["message"] in wrong[1]


def test_a_book_with_faults_is_nothing_to_hold_a_file_against(
    wrong: tuple[bytes, str], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "back.pdf").write_bytes(wrong[0])
    (tmp_path / "book.yaml").write_text("book: {title: Nothing}\n", encoding="utf-8")
    assert main(["preflight", str(tmp_path / "back.pdf"), "--against", str(tmp_path / "book.yaml")]) == Exit.FAULTS
    assert "no file can be held against a book with faults" in capfd.readouterr().err


def test_a_font_file_that_is_itself_is_no_traceback(
    little_folder: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    """A reference in a circle: of the length of what it names, it is an object of its own number (pikepdf writes
    no such thing, so that a letter of the file is changed).
    """
    manifest = str(little_folder / "book.yaml")
    assert main(["build", manifest, "--out", str(tmp_path)]) == Exit.FINE
    data = (tmp_path / "book.pdf").read_bytes()
    number = re.search(rb"/FontFile2 (\d+) 0 R", data)
    assert number
    at = data.index(b"\n%s 0 obj\n" % number[1]) + len(number[1]) + 8
    circle = b"%s 0 R endobj " % number[1]
    (tmp_path / "back.pdf").write_bytes(data[:at] + circle + data[at + len(circle):])
    assert main(["preflight", str(tmp_path / "back.pdf"), "--against", manifest]) in (Exit.FAULTS, Exit.UNREADABLE)
    assert "Traceback" not in capfd.readouterr().err
