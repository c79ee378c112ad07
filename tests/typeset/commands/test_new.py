"""`new`: a starting book is written whole, builds as it stands, and takes nobody's place."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from cagework.solver.symmetry import canonical
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.new import LANGUAGES
from cagework.typeset.manifest.load import load_book
from cagework.typeset.starter import BOOK, starting_book
from cagework.typeset.words import languages


def said(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    """Status, output and what a terminal is told."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys.stderr, "isatty", lambda: True)
        status = main([str(word) for word in words])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_it_says_to_do_next_builds_the_book(
    language: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    folder = tmp_path / "my book"
    status, text, hints = said(capsys, "new", folder, "--language", language)
    assert status == Exit.FINE and text == f"{folder / BOOK}: a book of 6 puzzles, ready to build\n"
    assert f"next: cagework build '{folder / BOOK}' --out '{folder / 'out'}'  writes" in hints
    assert (folder / BOOK).read_text(encoding="utf-8").startswith("# ")
    status, text, _ = said(capsys, "build", folder / BOOK, "--out", folder / "out")
    assert status == Exit.FINE and ", 6 puzzles, 0 warnings, " in text
    assert (folder / "out" / "book.pdf").read_bytes().startswith(b"%PDF-")


def test_there_is_one_in_every_language_and_the_puzzles_are_the_same(tmp_path: Path) -> None:
    assert set(LANGUAGES) == set(languages())
    grids = []
    for language in LANGUAGES:
        assert main(["new", str(tmp_path / language), "--language", language]) == Exit.FINE
        reading = load_book(tmp_path / language / BOOK)
        assert reading.book is not None and reading.faults == () and reading.book.language == language
        grids.append([(entry.grade, canonical(entry.puzzle)) for entry in reading.book.entries])
    assert len(grids[0]) == 6 and grids[0] == grids[1]


def test_nothing_that_is_there_is_touched(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "taken" / ".notes"
    file.parent.mkdir()
    file.write_text("mine", encoding="utf-8")
    for folder, what in ((file.parent, "holds files already"), (file, "is a file")):
        status, text, fault = said(capsys, "new", folder)
        assert (status, text) == (Exit.NOT_WRITTEN, "") and what in fault and "nothing was written" in fault
    assert [one.name for one in file.parent.iterdir()] == [".notes"] and file.read_text(encoding="utf-8") == "mine"
    (tmp_path / "empty").mkdir()
    assert main(["new", str(tmp_path / "empty" / "below")]) == Exit.FINE


def test_a_title_that_no_manifest_takes_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["new", str(tmp_path / "x"), "--title", " "])
    assert stopped.value.code == Exit.USAGE and "a title is empty" in capsys.readouterr().err
    assert not (tmp_path / "x").exists()


@settings(max_examples=50)
@given(st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.just(" "), min_size=1).filter(
    str.strip))
def test_any_title_and_name_are_said_as_they_were_given(title: str) -> None:
    """By PyYAML, all else being as it was."""
    before, after = (yaml.safe_load(starting_book("en", one, one)[BOOK]) for one in (None, title))
    assert after == before | {"book": before["book"] | {"title": title, "by": title}}
