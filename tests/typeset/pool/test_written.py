"""A pick is written as a manifest that builds, with the puzzles picked, in their order, and no others."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.model import Puzzle
from cagework.solver.symmetry import canonical
from cagework.typeset.columns.ledger import read_ledger
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manifest.load import load_book

BOOK = """\
pick:
  count: 8
  title: From the Mill
  size: 6
  by: {least: 4, most: 3}
  order: rising
  spread: ideas
book:
  title: The Mill Race
  by: the miller
  introduction: |
    Water first.

    Then *flour*.
  grade_words: {stroll: Easy, climb: Medium, scramble: Hard, summit: Very hard}
"""
SERIES = """\
pick: {count: 5, unprinted: true, by: {most: 2}}
series:
  id: courier
  title: The Courier
  start: 2027-03-01
  count: 5
  days: {monday: stroll, wednesday: climb}
  fallback: nearest
  ledger: printed.yaml
slots:
  - {slot: single-column, sizes: [6]}
"""


@pytest.fixture
def recipe(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        path = tmp_path / "recipe.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def picked(asked: Any) -> list[dict[str, Any]]:
    return list(asked.json["puzzles"])


def test_a_book_builds_with_the_pick_in_its_order(
    shelf: Path, tmp_path: Path, pool: Callable[..., Any], recipe: Callable[[str], Path], sixes: Sequence[Puzzle],
) -> None:
    target = tmp_path / "mill.yaml"
    asked = pool(shelf, "--pick", recipe(BOOK), "--write", target, "--json")
    assert asked.status == Exit.FINE and "copied" in asked.err
    ids = [one["id"] for one in picked(asked)]
    reading = load_book(target)
    assert reading.book is not None and not reading.faults
    (section,) = reading.book.sections
    assert section.title == "From the Mill" and [entry.id for entry in section.entries] == ids
    assert reading.book.introduction == "Water first.\n\nThen *flour*."
    assert reading.book.grade_words is not None
    for entry in section.entries:
        assert canonical(entry.puzzle) == canonical(sixes[int(entry.id.removeprefix("six-"))])
        assert entry.title == f"Six {int(entry.id.removeprefix('six-'))}"
    text = target.read_text(encoding="utf-8")
    assert all((f"one-{number}.yaml" in text) is (f"six-0{number}" in ids) for number in range(8)), "named"
    assert main(["build", str(target), "--out", str(tmp_path / "out")]) == Exit.FINE
    again = pool(shelf, "--pick", recipe(BOOK), "--write", target, "--json")
    assert (again.status, again.out) == (Exit.FINE, asked.out)
    other = pool(shelf, "--pick", recipe(BOOK.replace("count: 8", "count: 7")), "--write", target)
    assert other.status == Exit.NOT_WRITTEN and "left as it is" in other.err
    assert target.read_text(encoding="utf-8") == text


def test_a_series_is_made_of_the_pick_alone_and_its_ledger_bars_the_next(
    shelf: Path, tmp_path: Path, pool: Callable[..., Any], recipe: Callable[[str], Path],
) -> None:
    target = tmp_path / "courier.yaml"
    asked = pool(shelf, "--pick", recipe(SERIES), "--write", target, "--json")
    assert asked.status == Exit.FINE
    keys = {one["key"] for one in picked(asked)}
    assert len(keys) == 5
    assert main(["columns", str(target), "--out", str(tmp_path / "out")]) == Exit.FINE
    assert {use.key for use in read_ledger(tmp_path / "printed.yaml").uses} == keys
    seen = set(keys)
    for number in range(3):
        asked = pool(shelf, "--pick", recipe(SERIES), "--printed", tmp_path / "printed.yaml", "--json",
                     "--seed", number)
        assert asked.status == Exit.FINE
        assert keys.isdisjoint(one["key"] for one in picked(asked))
        seen |= {one["key"] for one in picked(asked)}
    assert len(seen) > 10, "each seed picks otherwise"


def test_cells_in_no_cage_stay_allowed(
    shelf: Path, tmp_path: Path, sixes: Sequence[Puzzle], pool: Callable[..., Any], recipe: Callable[[str], Path],
    keys_of: Callable[..., Any], file_of: Callable[..., str],
) -> None:
    keys = keys_of("bare", sixes[0])
    keys["map"] = keys["map"].replace("a", ".")
    del keys["sums"]["a"]
    (shelf / "bare.yaml").write_text(file_of(keys), encoding="utf-8")
    (shelf / "book.yaml").write_text("book: {title: B, allow_uncaged: true, puzzles_from: ba*.yaml}\n",
                                     encoding="utf-8")
    assert "bare" in pool(shelf, "--json", "--sound").ids, "one cage less leaves one answer"
    for text in (BOOK, SERIES):
        target = tmp_path / f"{text.count('book')}.yaml"
        asked = pool(shelf, "--pick", recipe(text.replace("count: 8", "count: 25").replace(
            "count: 5,", "count: 25,").replace("most: 3", "most: 9").replace("most: 2", "most: 9")),
            "--write", target)
        assert asked.status == Exit.FINE, asked.err
        read = load_book(target) if text is BOOK else load_book(tmp_path / f"{target.stem}-puzzles.yaml")
        assert read.book is not None and "bare" in [entry.id for entry in read.book.entries]


def test_a_recipe_that_no_pick_meets_is_told_so_and_nothing_is_written(
    shelf: Path, tmp_path: Path, pool: Callable[..., Any], recipe: Callable[[str], Path],
) -> None:
    asked = pool(shelf, "--pick", recipe(BOOK.replace("least: 4", "least: 5")), "--write", tmp_path / "mill.yaml")
    assert (asked.status, asked.out) == (Exit.FAULTS, "")
    assert re_line(asked.err) == 5 and "there would be 4 constructors, 1 fewer than 5" in asked.err
    assert not (tmp_path / "mill.yaml").exists()
    asked = pool(shelf, "--pick", recipe(BOOK), "--by", "the miller", "--by", "the cooper")
    assert asked.status == Exit.FAULTS and "there would be 2 constructors" in asked.err


def re_line(said: str) -> int:
    """The line of the first fault in the recipe."""
    return int(said.partition("recipe.yaml:")[2].partition(":")[0])


@pytest.mark.parametrize(("text", "status", "says"), [
    ("pick: {count: 2}\n", Exit.FAULTS, "does not say what is to be written"),
    (f"{SERIES}book: {{title: B}}\n", Exit.FAULTS, "does not say what is to be written"),
    (BOOK + "  puzzles_from: '*.yaml'\n", Exit.FAULTS, "for the pick to say"),
    (SERIES.partition("slots:")[0], Exit.FAULTS, "needs slots"),
    (BOOK + "  layuot: a5\n", Exit.FAULTS, "layuot"),
    (SERIES.replace("courier", "the courier"), Exit.FAULTS, "cannot be an id"),
    ("book: {title: B}\n", Exit.UNREADABLE, "not a recipe"),
])
def test_nothing_is_left_of_what_cannot_be_written(
    text: str, status: Exit, says: str, shelf: Path, tmp_path: Path, pool: Callable[..., Any],
    recipe: Callable[[str], Path],
) -> None:
    before = set(tmp_path.rglob("*.yaml"))
    asked = pool(shelf, "--pick", recipe(text), "--write", tmp_path / "made.yaml")
    assert asked.status == status and says in asked.err
    assert set(tmp_path.rglob("*.yaml")) == before | {tmp_path / "recipe.yaml"}
    assert pool(shelf, "--write", tmp_path / "made.yaml").status == Exit.USAGE


def test_where_nothing_can_be_written_it_is_said(
    shelf: Path, tmp_path: Path, pool: Callable[..., Any], recipe: Callable[[str], Path],
) -> None:
    asked = pool(shelf, "--pick", recipe(BOOK), "--write", tmp_path / "nowhere" / "mill.yaml")
    assert asked.status == Exit.NOT_WRITTEN and "cannot write" in asked.err
    asked = pool(shelf, "--pick", recipe(BOOK.replace("count: 8", "count: many")))
    assert (asked.status, asked.out) == (Exit.FAULTS, "") and re_line(asked.err) == 2
    (tmp_path / "index.sqlite").unlink()
    (tmp_path / "index.sqlite").mkdir()
    asked = pool(shelf)
    assert asked.status == Exit.NOT_WRITTEN and f"cannot write {tmp_path / 'index.sqlite'}" in asked.err


def test_without_or_tools_it_is_said_what_to_install(
    shelf: Path, pool: Callable[..., Any], recipe: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch,
) -> None:
    for name in [name for name in sys.modules if name.split(".")[0] == "ortools"] + ["ortools"]:
        monkeypatch.setitem(sys.modules, name, None)
    asked = pool(shelf, "--pick", recipe(BOOK))
    assert (asked.status, asked.out) == (Exit.USAGE, "") and "pip install 'cagework[pool]'" in asked.err
    assert pool(shelf).status == Exit.FINE


def test_a_pick_is_printed_for_the_eye(
    shelf: Path, pool: Callable[..., Any], recipe: Callable[[str], Path],
) -> None:
    asked = pool(shelf, "--pick", recipe(BOOK))
    rows = asked.out.splitlines()
    assert len(rows) == 1 + 8 + 1 and "8 puzzles by 4 constructors" in rows[-1]
