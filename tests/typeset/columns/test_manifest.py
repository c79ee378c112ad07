"""Series manifests with faults: every one located, all in one run, nothing written."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest
import yaml

from cagework.typeset.columns.load import load_series
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import UnreadableManifest

GOOD = """\
series:
  id: week
  title: A Week
  start: 2027-03-01
  count: 2
  days: {monday: stroll, tuesday: stroll}
pool: pool/*.yaml
slots:
  - {slot: single-column, sizes: [4]}
"""


@pytest.fixture
def series(own: Callable[..., Path], tmp_path: Path) -> Callable[..., Path]:
    """Write the good series with one text in place of another."""
    own(puzzles=2)

    def write(old: str = "", new: str = "") -> Path:
        assert old in GOOD
        path = tmp_path / "series.yaml"
        path.write_text(GOOD.replace(old, new) if old else GOOD)
        return path

    return write


@pytest.mark.parametrize(("old", "new", "place", "said"), [
    ("2027-03-01", "2027-02-30", (4, 10), "'2027-02-30' is no day of the calendar"),
    ("2027-03-01", "1 March", (4, 10), "'start' must be a date, written as 2027-03-01"),
    ("tuesday: stroll", "tuseday: stroll", (6, 35), "there is no weekday 'tuseday'"),
    ("tuesday: stroll", "tuesday: hard", (6, 35), "there is no grade 'hard'"),
    ("count: 2", "count: 0", (5, 10), "'count' must be 1 or more, not 0"),
    ("count: 2", "counts: 2", (5, 3), "unknown key 'counts'"),
    ("pool: pool/*.yaml", "pool: drawer/*.yaml", (7, 7), "no file matches 'drawer/*.yaml'"),
    ("slot: single-column", "slot: singel-column", (9, 12), "there is no slot 'singel-column'"),
    ("sizes: [4]", "sizes: [3]", (9, 27), "'sizes' must list sizes of grids, 4 to 16"),
    ("sizes: [4]", "sizes: [4], without: [grid]", (9, 49), "there is no part 'grid' to leave out"),
    ("sizes: [4]", "sizes: [4], language: qaa", (9, 49), "there are no words for columns in 'qaa'"),
    ("count: 2", "count: 2\n  fallback: near", (6, 13), "there is no fallback 'near'"),
    ("count: 2", "count: 2\n  grade_words: {stroll: Easy, climb: easy, scramble: Hard, summit: Steep}", (6, 38),
     "'easy' is the word for stroll already"),
    ("sizes: [4]", "sizes: [4], grade_words: {stroll: Easy}", (9, 39),
     "has no word for climb, scramble and summit"),
    ("  - {slot: single-column, sizes: [4]}",
     "  - {slot: single-column, sizes: [4]}\n  - {slot: single-column, sizes: [4]}", (10, 12),
     "called 'single-column'"),
    ("  - {slot: single-column, sizes: [4]}",
     "  - {slot: two-column, sizes: [9]}\n  - {slot: single-column, sizes: [4]}", (9, 12),
     "no size fits them all"),
    ("2027-03-01", "9999-12-31", (4, 10), "the calendar ends before 2 dates are found"),
])
def test_each_fault_has_its_place(
    old: str, new: str, place: tuple[int, int], said: str, series: Callable[..., Path],
) -> None:
    reading = load_series(series(old, new))
    assert reading.series is None
    found = [(fault.line, fault.column) for fault in reading.faults if said in fault.message]
    assert found == [place], [(fault.line, fault.column, fault.message) for fault in reading.faults]


def test_all_faults_are_said_in_one_run_and_nothing_is_written(
    series: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    path = series("monday: stroll, tuesday: stroll", "monday: easy, tuesday: stroll")
    path.write_text(path.read_text().replace("count: 2", "count: two"))
    assert main(["columns", str(path), "--out", str(tmp_path / "out")]) == Exit.FAULTS
    said = capsys.readouterr().err
    assert f"{path}:5:10: " in said and f"{path}:6:18: " in said
    assert "nothing was written: 2 faults to mend" in said
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("text", ["book: {}\n", "- 1\n", "puzzles: []\n", ""])
def test_a_file_that_is_no_series_is_unreadable(text: str, tmp_path: Path) -> None:
    (tmp_path / "other.yaml").write_text(text)
    with pytest.raises(UnreadableManifest):
        load_series(tmp_path / "other.yaml")


def test_an_unsound_puzzle_never_reaches_a_page(
    series: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    """The second puzzle without the sum that tells its two answers apart."""
    pool = tmp_path / "pool" / "p01.yaml"
    pool.write_text("id: p01\ntitle: Open\nsize: 4\ngrade: stroll\nmap: |\n  aaaa\n  bbbb\n  cccc\n  dddd\n"
                    "sums: {a: 10, b: 10, c: 10, d: 10}\n")
    assert main(["columns", str(series()), "--out", str(tmp_path / "out")]) == Exit.FAULTS
    assert f"{pool}:1:1: puzzle 'p01' is not sound: two answers differ" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_grade_that_is_not_earned_is_found_out(
    series: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    path = series("tuesday: stroll", "tuesday: summit")
    pool = tmp_path / "pool" / "p01.yaml"
    pool.write_text(pool.read_text().replace("grade: stroll", "grade: summit"))
    assert main(["columns", str(path), "--out", str(tmp_path / "out")]) == Exit.FAULTS
    assert "the manifest calls 'p01' a summit, but its path makes it a stroll" in capsys.readouterr().err


def test_a_folder_in_the_way_is_reported_not_replaced(
    series: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")
    assert main(["columns", str(series()), "--out", str(tmp_path / "out")]) == Exit.NOT_WRITTEN
    assert "mine.txt" in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["mine.txt"]


def test_a_link_to_a_folder_stays_a_link(series: Callable[..., Path], tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").symlink_to(tmp_path / "real")
    assert main(["columns", str(series()), "--out", str(tmp_path / "out")]) == Exit.FINE
    assert (tmp_path / "out").is_symlink() and (tmp_path / "real" / "index.csv").is_file()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_the_sample_and_the_good_series_match_the_printed_schema(
    root: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["schema", "--series"]) == Exit.FINE
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    for text in (GOOD, (root / "books" / "gazette" / "series.yaml").read_text(encoding="utf-8")):
        read = yaml.safe_load(text)
        read["series"]["start"] = str(read["series"]["start"])   # a date is text to this tool
        jsonschema.Draft202012Validator(schema).validate(read)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(yaml.safe_load(GOOD.replace("monday", "moonday")))
