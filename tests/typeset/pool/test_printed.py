"""What was printed is known from ledgers, series and books, mirrored too; what is not known is no answer."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cagework.typeset.commands.exits import Exit

SERIES = """\
series:
  id: courier
  title: The Courier
  start: 2027-03-01
  count: 3
  days: {monday: stroll, tuesday: stroll, wednesday: stroll}
  fallback: nearest
  ledger: LEDGER
pool: shelf/*.yaml
slots: [{slot: single-column, sizes: [6]}]
"""


@pytest.fixture
def columns(tmp_path: Path, shelf: Path) -> Callable[..., Path]:
    """Make a series over the shelf's single files, and give its manifest and the folder's ledger."""
    from cagework.typeset.commands.door import main

    def make(ledger: str) -> Path:
        manifest = tmp_path / "series.yaml"
        manifest.write_text(SERIES.replace("LEDGER", ledger), encoding="utf-8")
        assert main(["columns", str(manifest), "--out", str(tmp_path / "out")]) == Exit.FINE
        return manifest

    return make


def used(index: Path) -> set[str]:
    """The titles in the index of the columns."""
    return {f"Six {number}" for number in range(24) if f"Six {number}," in index.read_text(encoding="utf-8")}


def unprinted(asked: Any) -> set[str]:
    return {one["title"] for one in asked.json["puzzles"]}


ALL = {f"Six {number}" for number in range(24)}


@pytest.mark.parametrize("by", ["series", "ledger", "a ledger in the folder", "a series in the folder"])
def test_what_a_series_printed_is_printed(
    by: str, columns: Callable[..., Path], shelf: Path, tmp_path: Path, pool: Callable[..., Any],
) -> None:
    ledger = "shelf/below/printed.yaml" if by == "a ledger in the folder" else "printed.yaml"
    manifest = columns(ledger)
    if by == "a series in the folder":
        (shelf / "again.yaml").write_text(SERIES.replace("LEDGER", "../printed.yaml"), encoding="utf-8")
    options = {"series": ["--printed", manifest], "ledger": ["--printed", tmp_path / ledger]}.get(by, [])
    gone = used(tmp_path / "out" / "index.csv")
    assert len(gone) == 3
    for _ in range(2):
        asked = pool(shelf, "--json", "--unprinted", *options)
        assert unprinted(asked) == ALL - gone and asked.status == Exit.FINE
    said = {one["title"]: one["printed"] for one in pool(shelf, "--json", *options).json["puzzles"]}
    assert sorted(said[title][0]["date"] for title in gone) == ["2027-03-01", "2027-03-02", "2027-03-03"]
    assert {where["where"] for title in gone for where in said[title]} == {"courier"}
    since = pool(shelf, "--json", "--unprinted", "--since", "2027-03-02", *options)
    assert len(unprinted(since)) == 24 - 2
    assert "courier" in pool(shelf, "--list", *options).out
    if by in ("series", "ledger"):
        assert unprinted(pool(shelf, "--json", "--unprinted")) == ALL, "it is told of for one run"
    else:
        (shelf / ("again.yaml" if by == "a series in the folder" else "below/printed.yaml")).unlink()
        assert unprinted(pool(shelf, "--json", "--unprinted")) == ALL


def test_what_a_book_prints_is_printed_mirrored_too(
    shelf: Path, tmp_path: Path, pool: Callable[..., Any],
) -> None:
    """Of the puzzles that it names the files of, those in its sections alone."""
    book = tmp_path / "book.yaml"
    book.write_text("book: {title: The Mill, press: {date: 2026-05-01}, puzzles_from: shelf/below/many.yaml}\n"
                    "sections: [{title: One, puzzles: [six-08, six-09]}]\n", encoding="utf-8")
    asked = pool(shelf, "--json", "--unprinted", "--printed", book)
    assert unprinted(asked) == ALL - {"Six 8", "Six 9"}
    mirrored = tmp_path / "mirrored.yaml"
    many = (shelf / "one-0.yaml").read_text(encoding="utf-8")
    rows = many.partition('"map": "')[2].partition('"')[0].split("\\n")
    mirrored.write_text(many.replace("\\n".join(rows), "\\n".join(row[::-1] for row in rows)), encoding="utf-8")
    asked = pool(shelf, "--json", "--unprinted", "--printed", book, "--printed", mirrored)
    assert unprinted(asked) == ALL - {"Six 0", "Six 8", "Six 9"}
    assert unprinted(pool(shelf, "--json", "--unprinted", "--since", "2026-06-01", "--printed", book,
                          "--printed", mirrored)) == ALL - {"Six 0"}, "what has no date counts"


@pytest.mark.parametrize(("name", "text", "status", "says"), [
    ("book.yaml", "book: {title: B, puzzles_from: nothing*.yaml}\n", Exit.FAULTS, "no file matches"),
    ("series.yaml", SERIES.replace("  ledger: LEDGER\n", ""), Exit.FAULTS, "keeps no ledger"),
    ("ledger.yaml", "used:\n  - {date: yesterday}\n", Exit.FAULTS, "must be a date"),
    ("broken.yaml", "used: [", Exit.UNREADABLE, "not YAML"),
    ("nowhere.yaml", None, Exit.UNREADABLE, "no such file"),
    ("shelf/ledger.yaml", "used:\n  - {date: yesterday}\n", Exit.FAULTS, "must be a date"),
    ("shelf/broken.yaml", "used: [", Exit.FAULTS, "not YAML"),
])
def test_where_it_is_not_known_what_was_printed_nothing_is_called_unprinted(
    name: str, text: str | None, status: Exit, says: str, shelf: Path, tmp_path: Path, pool: Callable[..., Any],
) -> None:
    if text is not None:
        (tmp_path / name).write_text(text, encoding="utf-8")
    options = [] if name.startswith("shelf") else ["--printed", tmp_path / name]
    asked = pool(shelf, "--list", "--unprinted", *options)
    assert (asked.status, asked.out) == (status, "")
    assert says in asked.err and str(tmp_path / name) in asked.err


def test_since_stands_for_nothing_by_itself(shelf: Path, pool: Callable[..., Any]) -> None:
    assert pool(shelf, "--since", "2027-03-01").status == Exit.USAGE
