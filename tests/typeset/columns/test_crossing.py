"""Crossing sums in newspaper columns: beside puzzles with cages, in slots of their own, and in the ledger."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import yaml

from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Puzzle
from cagework.typeset.columns.ledger import read_ledger
from cagework.typeset.columns.load import load_series
from cagework.typeset.columns.run import make_columns
from cagework.typeset.faults import NotBuilt

COUNT = 4
MADE = {f"front-{seed}": compose_crossing(seed, CrossingRecipe(4, 6)) for seed in range(40, 40 + COUNT)}


def as_map(name: str, puzzle: Puzzle) -> dict[str, Any]:
    letter = {cell: chr(ord("a") + number) for number, cage in enumerate(puzzle.cages) for cell in cage.cells}
    rows = ["".join(letter[cell] for cell in puzzle.cells[start:start + 4]) for start in range(0, 16, 4)]
    sums = {chr(ord("a") + number): cage.total for number, cage in enumerate(puzzle.cages)}
    return {"id": name, "size": 4, "grade": "stroll", "map": "\n".join(rows), "sums": sums}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, crossing_part: Callable[..., dict[str, Any]],
           fours: Any) -> Path:
    """Two days with both kinds on each, then a third by another series, which takes what is left."""
    folder = tmp_path_factory.mktemp("crossing")
    puzzles = [crossing_part(made.puzzle, name) for name, made in MADE.items()]
    puzzles += [as_map(f"four-{number}", puzzle) for number, puzzle in enumerate(fours[:2])]
    (folder / "pool.yaml").write_text(yaml.safe_dump({"puzzles": puzzles}), encoding="utf-8")
    crossing = {"slot": "two-column", "kind": "crossing-sums", "sizes": [6]}
    first = [crossing, {"slot": "two-column", "name": "cages", "sizes": [4]}]
    for name, start, count, slots in (("first", "2027-03-01", 2, first), ("second", "2027-03-03", 1, [crossing])):
        series = {"id": name, "title": "T", "start": start, "count": count, "fallback": "nearest",
                  "days": dict.fromkeys(("monday", "tuesday", "wednesday"), "stroll"), "ledger": "printed.yaml"}
        file = folder / f"{name}.yaml"
        file.write_text(yaml.safe_dump({"series": series, "pool": "pool.yaml", "slots": slots}), encoding="utf-8")
        read = load_series(file)
        assert read.series is not None, read.faults
        make_columns(read.series, folder / name, None)
    return folder


def said(file: Path) -> list[str]:
    return pypdfium2.PdfDocument(file)[0].get_textpage().get_text_range().split()


def test_each_kind_stands_in_its_own_slots(folder: Path) -> None:
    uses = yaml.safe_load((folder / "printed.yaml").read_text(encoding="utf-8"))["used"]
    kinds = {(use["date"], use["puzzle"]): use.get("kind", "cages") for use in uses}
    assert sorted(kind for (date, _), kind in kinds.items() if date == "2027-03-01") == ["cages", "crossing-sums"]
    assert {name for (_, name), kind in kinds.items() if kind == "crossing-sums"} <= MADE.keys()
    assert len(kinds) == len(uses) == 5, "no puzzle comes twice"
    for use in uses:
        if use["puzzle"] in MADE:
            assert (use["answer"], use["size"]) == (str(MADE[use["puzzle"]].answer), 6)


def test_all_sums_are_printed_and_the_rule_is_that_of_runs(folder: Path) -> None:
    (use,) = (use for use in read_ledger(folder / "printed.yaml").uses
              if str(use.earlier.date) == "2027-03-01" and use.puzzle in MADE)
    words = said(folder / "first" / "2027-03-01-two-column.pdf")
    sums = sorted(str(cage.total) for cage in MADE[use.puzzle].puzzle.cages)
    rest = [word for word in words if word.isdigit()]
    for total in sums:
        rest.remove(total)
    assert "white" in words and "dashed" not in words
    assert "dashed" in said(folder / "first" / "2027-03-01-cages.pdf")


@pytest.mark.parametrize(("series", "date"), [("first", "2027-03-02"), ("second", "2027-03-03")])
def test_the_answer_of_the_day_before_is_printed(series: str, date: str, folder: Path) -> None:
    """From the series itself, or from the ledger as another series left it; upside down, so from right to left."""
    before = {"2027-03-02": "2027-03-01", "2027-03-03": "2027-03-02"}[date]
    uses = yaml.safe_load((folder / "printed.yaml").read_text(encoding="utf-8"))["used"]
    (name,) = (use["puzzle"] for use in uses if use["date"] == before and use["puzzle"] in MADE)
    digits = "".join(char for word in said(folder / series / f"{date}-two-column.pdf") for char in word
                     if char.isdigit())
    answer = str(MADE[name].answer)
    rows = [answer[start:start + 6].replace(".", "") for start in range(0, len(answer), 6)]
    assert "".join(row[::-1] for row in rows) in digits


@pytest.mark.parametrize(("slot", "rows", "columns", "gone"), [
    ("single-column", 4, 5, ""), ("single-column", 7, 7, ""), ("two-column", 15, 12, ""),
    ("four-column", 10, 16, ""),
    # In newsprint's least type an answer of 16 squares a row is wider than one of its columns; the hint is not.
    ("two-column", 9, 16, "answer left out for want of room"),
])
def test_grids_of_any_size_come_with_answer_and_hint(
    slot: str, rows: int, columns: int, gone: str, crossing_part: Callable[..., dict[str, Any]], tmp_path: Path,
) -> None:
    """On Mondays, so that the answer to last week's is the last one printed, too."""
    made = [compose_crossing(seed, CrossingRecipe(rows, columns)) for seed in (1, 2)]
    puzzles = [crossing_part(one.puzzle, f"p{number}") for number, one in enumerate(made)]
    (tmp_path / "pool.yaml").write_text(yaml.safe_dump({"puzzles": puzzles}), encoding="utf-8")
    series = {"id": "weekly", "title": "T", "start": "2027-03-01", "count": 2, "fallback": "nearest",
              "days": {"monday": "stroll"}, "ledger": "printed.yaml"}
    slots = [{"slot": slot, "kind": "crossing-sums", "sizes": [max(rows, columns)]}]
    (tmp_path / "weekly.yaml").write_text(
        yaml.safe_dump({"series": series, "pool": "pool.yaml", "slots": slots}), encoding="utf-8")
    read = load_series(tmp_path / "weekly.yaml").series
    assert read is not None
    notes = make_columns(read, tmp_path / "out", None).notes
    assert [note for note in notes if "left out" in note] == (
        [f"2027-03-08-{slot}: {gone}"] if gone else [])
    uses = yaml.safe_load((tmp_path / "printed.yaml").read_text(encoding="utf-8"))["used"]
    last, now = (made[int(use["puzzle"][1:])] for use in uses)
    words = said(tmp_path / "out" / f"2027-03-08-{slot}.pdf")
    figures = [word for word in words if word.isdigit()]
    digits = "".join(figures)
    for cage in now.puzzle.cages:
        figures.remove(str(cage.total))
    assert "hint." in words
    answer = str(last.answer)
    lines = [answer[start:start + columns].replace(".", "") for start in range(0, len(answer), columns)]
    assert ("".join(line[::-1] for line in lines) in digits) is not bool(gone)


@pytest.mark.parametrize("answer", ["12.4", "1234567", "12A456", "123 56"])
def test_an_answer_that_is_none_is_told(answer: str, folder: Path, tmp_path: Path) -> None:
    text = (folder / "printed.yaml").read_text(encoding="utf-8")
    (use, *_) = (use for use in read_ledger(folder / "printed.yaml").uses if use.puzzle in MADE)
    file = tmp_path / "printed.yaml"
    file.write_text(text.replace(str(use.earlier.answer), answer), encoding="utf-8")
    (fault,) = read_ledger(file).faults
    assert "the answer is not one" in fault.message


def test_a_day_without_any_left_says_what_is_wanting(folder: Path, tmp_path: Path) -> None:
    text = (folder / "second.yaml").read_text(encoding="utf-8").replace("count: 1", "count: 9")
    (tmp_path / "pool.yaml").write_text((folder / "pool.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "second.yaml").write_text(text, encoding="utf-8")
    series = load_series(tmp_path / "second.yaml").series
    assert series is not None
    with pytest.raises(NotBuilt) as told:
        make_columns(series, tmp_path / "out", None)
    assert "crossing sums whose longer side is 6" in str(told.value.faults[0])
