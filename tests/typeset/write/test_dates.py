"""The same manifest gives the same bytes on any day and machine, and the only dates are those it was given."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pytest

from cagework.typeset.commands.door import Exit
from cagework.typeset.write.dates import UNDATED, moment_of

BOOK = """\
book:
  title: Lamps
  press: {{marks: true, slug: true{date}}}
puzzles:
  - id: lamp
    title: Lamp
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}
"""
HERE = {"TZ": "UTC", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "0"}
ELSEWHERE = {"TZ": "Asia/Kathmandu", "LC_ALL": "C", "PYTHONHASHSEED": "7", "HOME": "/"}
Files = dict[str, bytes]
Build = Callable[..., tuple[subprocess.CompletedProcess[str], Files]]


@pytest.fixture
def build(tmp_path: Path) -> Build:
    """Build a book of one puzzle in a process of its own, in a folder of its own."""
    def run(name: str, date: str, environment: dict[str, str]) -> tuple[subprocess.CompletedProcess[str], Files]:
        folder = tmp_path / name
        folder.mkdir()
        (folder / "book.yaml").write_text(BOOK.format(date=f", date: {date}" if date else ""), encoding="utf-8")
        outside = {key: value for key, value in os.environ.items() if key != "SOURCE_DATE_EPOCH"}
        done = subprocess.run(
            [sys.executable, "-m", "cagework.typeset", "build", "book.yaml", "--press"],
            cwd=folder, env=outside | environment, capture_output=True, text=True, check=False)
        return done, {str(path.relative_to(folder)): path.read_bytes() for path in (folder / "out").rglob("*")
                      if path.is_file()}

    return run


def dates(data: bytes, folder: Path) -> set[str]:
    path = folder / "look.pdf"
    path.write_bytes(data)
    with pikepdf.open(path) as pdf:
        return {str(pdf.docinfo["/CreationDate"]), str(pdf.docinfo["/ModDate"])}


def test_the_day_of_the_manifest_counts_wherever_and_whenever(build: Build, tmp_path: Path) -> None:
    """Another time zone, locale, hash seed, folder and SOURCE_DATE_EPOCH: not a byte differs."""
    _, here = build("here", "2026-11-25", HERE)
    _, there = build("there", "2026-11-25", ELSEWHERE | {"SOURCE_DATE_EPOCH": "1000000000"})
    assert set(here) == {"out/SHA256SUMS", "out/book.pdf", "out/book-press.pdf", "out/puzzles/lamp.svg",
                         "out/answers/lamp.svg"}
    assert here == there
    for name in ("out/book.pdf", "out/book-press.pdf"):
        assert dates(here[name], tmp_path) == {"D:20261125000000+00'00'"}


def test_without_a_day_source_date_epoch_counts_and_else_a_fixed_one(build: Build, tmp_path: Path) -> None:
    """reproducible-builds.org, SOURCE_DATE_EPOCH. 1000000000 s after 1970 is 2001-09-09 01:46:40 UTC."""
    _, fixed = build("fixed", "", HERE)
    _, again = build("again", "", ELSEWHERE)
    _, epoch = build("epoch", "", HERE | {"SOURCE_DATE_EPOCH": "1000000000"})
    assert fixed == again
    for name in ("out/book.pdf", "out/book-press.pdf"):
        assert dates(fixed[name], tmp_path) == {"D:20000101000000+00'00'"}
        assert dates(epoch[name], tmp_path) == {"D:20010909014640+00'00'"}
        assert len(fixed[name]) == len(epoch[name]), "the dates and the id made of them, and nothing else"
    assert fixed["out/puzzles/lamp.svg"] == epoch["out/puzzles/lamp.svg"]


def test_an_epoch_that_is_no_number_is_refused_and_nothing_is_written(build: Build) -> None:
    for date in ("", "2026-11-25"):
        done, files = build(f"bad{date}", date, HERE | {"SOURCE_DATE_EPOCH": "yesterday"})
        assert done.returncode == Exit.FAULTS
        assert "SOURCE_DATE_EPOCH: 'yesterday' is not a time in seconds since 1970" in done.stderr
        assert files == {}


def test_moments(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    assert moment_of(None) == UNDATED
    monkeypatch.setenv("SOURCE_DATE_EPOCH", " 0 ")
    assert moment_of(None) == datetime(1970, 1, 1, tzinfo=UTC)
    assert moment_of(datetime(2026, 11, 25, tzinfo=UTC).date()) == datetime(2026, 11, 25, tzinfo=UTC)
    for said in ("1e9", "9" * 30, "-9" + "9" * 20):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", said)
        with pytest.raises(ValueError, match="seconds since 1970"):
            moment_of(None)
