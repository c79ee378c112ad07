"""`import`, run as an editor runs it."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit

MAPS = """\
title: Lamp
aabc
dabc
deec
dfff
a 7, b 6, c 6, d 8, e 4, f 9
---
title: Candle
aabb
ccdd
eeff
gghh
a 3 b 7 c 7 d 3 e 5 f 5 g 5 h 5
"""


def said(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    """Status, output and what a terminal is told."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys.stderr, "isatty", lambda: True)
        status = main([str(word) for word in words])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.fixture(name="maps")
def _maps(tmp_path: Path) -> Path:
    file = tmp_path / "lights.txt"
    file.write_text(MAPS, encoding="utf-8")
    return file


def test_each_puzzle_gets_a_file_and_the_same_import_changes_nothing(
    maps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "mine"
    status, text, hints = said(capsys, "import", maps, "--out", out)
    assert (status, text) == (Exit.FINE, f"{out}: 2 puzzles\n")
    assert hints.startswith(f"next: cagework pool {out} --list  says which")
    files = {file.name: file.read_bytes() for file in out.iterdir()}
    assert sorted(files) == ["lights-1.yaml", "lights-2.yaml"]
    assert said(capsys, "import", maps, "--out", out)[0] == Exit.FINE
    assert {file.name: file.read_bytes() for file in out.iterdir()} == files
    assert said(capsys, "check", out / "lights-1.yaml")[0] == Exit.FINE


def test_all_puzzles_in_one_file(maps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one = tmp_path / "lights.yaml"
    status, text, hints = said(capsys, "import", maps, "--out", one)
    assert (status, text) == (Exit.FINE, f"{one}: 2 puzzles\n") and f"cagework check {one}" in hints
    assert one.read_text(encoding="utf-8").startswith("puzzles:\n  - id: lights-1\n    title: Lamp\n    size: 4\n")
    assert "lights-2  " in said(capsys, "check", one)[1]


def test_a_file_that_says_anything_else_is_left_alone(
    maps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    mine = tmp_path / "mine" / "lights-2.yaml"
    mine.parent.mkdir()
    mine.write_text("# mine\n", encoding="utf-8")
    status, text, fault = said(capsys, "import", maps, "--out", mine.parent)
    assert (status, text) == (Exit.NOT_WRITTEN, "") and "lights-2.yaml holds something else" in fault
    assert [file.name for file in mine.parent.iterdir()] == [mine.name]
    assert mine.read_text(encoding="utf-8") == "# mine\n"


@pytest.mark.parametrize("out", ["mine", "all.yaml"])
def test_a_file_that_was_changed_since_is_left_alone_and_told_as_that(
    out: str, maps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    assert said(capsys, "import", maps, "--out", tmp_path / out)[0] == Exit.FINE
    file = tmp_path / out if out.endswith(".yaml") else tmp_path / out / "lights-1.yaml"
    mine = file.read_text(encoding="utf-8").replace("title: Lamp", "title: My lamp")
    file.write_text(mine, encoding="utf-8")
    status, text, fault = said(capsys, "import", maps, "--out", tmp_path / out)
    assert (status, text, file.read_text(encoding="utf-8")) == (Exit.NOT_WRITTEN, "", mine)
    assert fault.startswith(f"{file} was changed since it was imported") and "delete it first" in fault
    assert fault.endswith("nothing was written\n") and "lights-2.yaml" not in fault


def test_every_fault_of_all_files_is_told_and_nothing_is_written(
    maps: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "poem.txt").write_text("roses are red\n", encoding="utf-8")
    (tmp_path / "table.csv").write_text("row,column,cage,sum\n1,0,a,5\n1,1,b,six\n", encoding="utf-8")
    status, text, faults = said(capsys, "import", tmp_path / "table.csv", maps, tmp_path / "poem.txt",
                                "--out", tmp_path / "mine")
    assert (status, text) == (Exit.UNREADABLE, "") and not (tmp_path / "mine").exists()
    for place in ("poem.txt:1:1: ", "table.csv:2:3: ", "table.csv:3:7: ", "nothing was written"):
        assert place in faults
    maps.write_text(MAPS.replace("h 5", "h 50"), encoding="utf-8")
    status, _, faults = said(capsys, "import", maps, "--out", tmp_path / "mine")
    assert status == Exit.FAULTS and f"{maps}:13:29: " in faults and not (tmp_path / "mine").exists()
