"""An index keeps up with its folder: nothing is read or solved twice, lost, or kept beyond its time."""

from __future__ import annotations

import gc
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.model import Puzzle
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.entry import Entry
from cagework.typeset.host import workers
from cagework.typeset.host.locks import alone_at
from cagework.typeset.pool import refresh as refreshing
from cagework.typeset.pool.ask import Listed, Wanted, listed
from cagework.typeset.pool.index import Index
from cagework.typeset.pool.refresh import Refreshed, refresh
from cagework.typeset.solving.crew import Crew


class Counting(Crew):
    """A crew without a cache that counts what it is given to solve."""

    def __init__(self, workers: int = 1) -> None:
        super().__init__(None, workers)
        self.given = 0

    def find(self, puzzles: Iterable[Puzzle], seconds: float | None, *, again: bool = False) -> Iterator[Any]:
        return super().find(map(self._counted, puzzles), seconds, again=again)

    def _counted(self, puzzle: Puzzle) -> Puzzle:
        self.given += 1
        return puzzle


def refreshed(file: Path, folder: Path, seconds: float = 60.0) -> tuple[Refreshed, int]:
    """What a refresh did, and how many puzzles were solved anew."""
    crew = Counting()
    with Index(file) as index:
        return refresh(index, folder, crew, seconds), crew.given


def held(file: Path) -> list[tuple[object, ...]]:
    """All that an index knows of its puzzles, but for its own numbers."""
    with Index(file) as index:
        return [tuple(getattr(one, name) for name in Listed.__slots__ if name != "number")
                for one in listed(index, Wanted())]


def test_what_has_not_changed_is_neither_read_nor_solved_again(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    index = tmp_path / "index.sqlite"
    assert refreshed(index, shelf) == (Refreshed(9, 24, 0), 24)
    before = held(index)
    monkeypatch.setattr(refreshing, "parse_document", None)
    for file in shelf.rglob("*.yaml"):
        file.touch()
    assert refreshed(index, shelf) == (Refreshed(0, 0, 0), 0)
    assert held(index) == before and len(before) == 24


def test_only_a_changed_file_is_read(shelf: Path, tmp_path: Path) -> None:
    index = tmp_path / "index.sqlite"
    refreshed(index, shelf)
    file = shelf / "one-3.yaml"
    file.write_text(file.read_text().replace('"Six 3"', '"Three"'), encoding="utf-8")
    assert refreshed(index, shelf) == (Refreshed(1, 1, 0), 1)
    assert {one.title for one in _all(index)} >= {"Three", "Six 4"} and "Six 3" not in {
        one.title for one in _all(index)}


def _all(file: Path) -> list[Listed]:
    with Index(file) as index:
        return list(listed(index, Wanted()))


def test_a_file_that_went_away_leaves_and_one_that_moved_is_found_there(shelf: Path, tmp_path: Path) -> None:
    index = tmp_path / "index.sqlite"
    refreshed(index, shelf)
    (shelf / "one-0.yaml").unlink()
    (shelf / "one-1.yaml").rename(shelf / "below" / "moved.yaml")
    done, _ = refreshed(index, shelf)
    assert (done.read, done.gone) == (1, 2)
    files = {one.id: one.file for one in _all(index)}
    assert "six-00" not in files and files["six-01"] == "below/moved.yaml" and len(files) == 23


@pytest.mark.skipif(sys.platform == "win32", reason="this check did not run: it needs POSIX signals")
def test_a_killed_run_is_taken_up_where_it_stopped(
    shelf: Path, tmp_path: Path, refresh_killed: Callable[..., None],
) -> None:
    """Twice in the middle of one file; the second run has not changed the file, but has puzzles of it to solve."""
    index, whole = tmp_path / "index.sqlite", tmp_path / "whole.sqlite"
    for after in (5, 7):
        refresh_killed(index, shelf, after)
    assert refreshed(index, shelf)[1] == 24 - 5 - 7
    assert refreshed(whole, shelf)[1] == 24
    assert held(index) == held(whole)


STOPPED = """
import os, signal, sys
from cagework.typeset.__main__ import main
from cagework.typeset.pool import index

settle, left = index.Index.settle, 4

def settled(*found, **named):
    global left
    settle(*found, **named)
    left -= 1
    if left == 0:
        os.kill(os.getpid(), signal.SIGTERM)

index.Index.settle = settled
sys.exit(main())
"""


@pytest.mark.skipif(sys.platform == "win32", reason="this check did not run: it needs POSIX signals")
def test_a_command_that_is_told_to_stop_says_what_is_kept(shelf: Path, tmp_path: Path) -> None:
    """Between two results, one of which is being put down: it is kept whole or not at all."""
    index = tmp_path / "index.sqlite"
    options = ["pool", shelf, "--index", index, "--cache", tmp_path / "kept"]
    done = subprocess.run([sys.executable, "-c", STOPPED, *options], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (Exit.INTERRUPTED, "")
    assert f"{shelf}: what was found so far is kept" in done.stderr
    read, solved = refreshed(index, shelf)
    assert solved == 24 - 3 and read.gone == 0


def test_no_more_puzzles_are_held_than_keep_all_busy(
    fours: Sequence[Puzzle], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    keys_of: Callable[..., Any], file_of: Callable[..., str],
) -> None:
    """Counted, not measured: the puzzles alive at each tick, in folders of 24 and of 96, by two processes. What
    is held anyway is set aside from the collector, which would go through it at each.
    """
    monkeypatch.setattr(workers, "_LEAST", 8)
    monkeypatch.setattr(workers, "_EACH", 4)
    most = {}
    for count in (24, 96):
        folder = tmp_path / str(count)
        folder.mkdir()
        for number, puzzle in enumerate(fours[:count]):
            (folder / f"{number}.yaml").write_text(file_of(keys_of(f"p{number}", puzzle)), encoding="utf-8")
        alive: list[int] = []

        def tick(alive: list[int] = alive) -> None:
            gc.collect()
            alive.append(sum(isinstance(one, Entry) for one in gc.get_objects()))

        gc.collect()
        gc.freeze()
        try:
            with Counting(2) as crew, Index(tmp_path / f"{count}.sqlite") as index:
                refresh(index, folder, crew, 60.0, tick)
        finally:
            gc.unfreeze()
        assert crew.given == len(alive) == count
        most[count] = max(alive)
    assert 8 <= most[96] <= 8 + 1


def test_a_puzzle_not_decided_in_time_is_tried_again_when_it_is_given_more(tmp_path: Path) -> None:
    folder, index = tmp_path / "shelf", tmp_path / "index.sqlite"
    folder.mkdir()
    (folder / "vast.yaml").write_text("id: vast\nsize: 16\ncages: []\n", encoding="utf-8")
    assert refreshed(index, folder, 1e-6)[1] == 1
    assert refreshed(index, folder, 1e-6)[1] == 0
    assert [one.outcome for one in _all(index)] == ["undecided"]
    assert refreshed(index, folder, 2e-6)[1] == 1


def test_other_code_reads_all_again(shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    index = tmp_path / "index.sqlite"
    refreshed(index, shelf)
    monkeypatch.setattr(refreshing, "version", lambda: "another")
    assert refreshed(index, shelf)[0] == Refreshed(9, 24, 0)


def test_a_manifest_says_whether_cells_may_be_in_no_cage(
    shelf: Path, sixes: Sequence[Puzzle], pool: Callable[..., Any], keys_of: Callable[..., Any],
    file_of: Callable[..., str],
) -> None:
    """Of the puzzles in the files that it names, and only as long as it says so."""
    keys = keys_of("bare", sixes[0])
    keys["map"] = str(keys["map"]).replace("a", ".")
    del keys["sums"]["a"]
    keys["givens"] = {"r1c1": 1}
    (shelf / "below" / "bare.yaml").write_text(file_of(keys), encoding="utf-8")
    assert "no cage" in pool(shelf, "--warnings").err
    book = shelf / "book.yaml"
    book.write_text("book: {title: B, allow_uncaged: true, puzzles_from: below/ba*.yaml}\n", encoding="utf-8")
    assert "no cage" not in pool(shelf, "--warnings").err
    book.write_text("book: {title: B, puzzles_from: below/ba*.yaml}\n", encoding="utf-8")
    assert "no cage" in pool(shelf, "--warnings").err


def test_what_is_wrong_is_said_as_check_says_it_and_again_each_time(
    shelf: Path, sixes: Sequence[Puzzle], pool: Callable[..., Any], capfd: pytest.CaptureFixture[str],
    keys_of: Callable[..., Any], file_of: Callable[..., str],
) -> None:
    """Faults of reading, of solving, of a stated grade and of the setter's answer; nothing else is lost."""
    bad = shelf / "below" / "bad.yaml"
    bad.write_text(file_of(
        keys_of("typo", sixes[0], tytle="x"), keys_of("graded", sixes[1], grade="summit"),
        keys_of("meant", sixes[2], answer="\n".join(["123456"] * 6)),
        keys_of("off", sixes[3], givens={"r1c1": 9})), encoding="utf-8")
    main(["check", str(bad), "--json"])
    said = json.loads(capfd.readouterr().out)
    wanted = [fault for one in said["puzzles"] for fault in one["faults"]] + said["faults"]
    assert len(wanted) >= 4
    for _ in range(2):
        asked = pool(shelf, "--json")
        assert asked.status == Exit.FAULTS
        ours = [fault for fault in asked.json["faults"] if fault["file"] == str(bad)]
        assert sorted(ours, key=str) == sorted(wanted, key=str)
        assert len(asked.ids) == 28
    assert f"{bad}:" in pool(shelf).err and "^" in pool(shelf).err
    (shelf / "streets.yaml").write_text("streets: 3", encoding="utf-8")
    quiet, loud = pool(shelf), pool(shelf, "--warnings")
    assert "streets.yaml" not in quiet.err and "1 warning;" in quiet.out
    assert f"{shelf / 'streets.yaml'}:1:1: warning: " in loud.err and loud.out == quiet.out.replace(
        "1 file read", "0 files read")


@pytest.mark.parametrize(("name", "text", "status", "says"), [
    ("broken.yaml", "puzzles: [", Exit.UNREADABLE, "not YAML"),
    ("latin.yaml", b"title: caf\xe9\n", Exit.UNREADABLE, "not UTF-8"),
    ("words.yml", "just words", Exit.UNREADABLE, "neither a manifest nor a puzzle"),
    ("map.yaml", "streets: {main: 1}", Exit.FINE, "passed over"),
    ("series.yaml", "series: {id: s}", Exit.FINE, "keeps no ledger"),
    ("series.yaml", "series: {id: s, ledger: printed.yaml}", Exit.FINE, None),
    ("printed.yaml", "used: []", Exit.FINE, None),
    ("layout.yaml", "title: L\ntrim: a5\n", Exit.FINE, None),
    ("vast.yaml", b"# " + b"x" * 2_000_000, Exit.UNREADABLE, "larger than 2 MB"),
    (".hidden.yaml", "puzzles: [", Exit.FINE, None),
    ("book.yaml", "book: {title: B}\npuzzles: {a: 1}\n", Exit.FAULTS, "puzzles"),
])
def test_a_file_that_holds_no_puzzles_loses_none_of_the_others(
    name: str, text: str | bytes, status: Exit, says: str | None, shelf: Path, pool: Callable[..., Any],
) -> None:
    (shelf / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    for _ in range(2):
        asked = pool(shelf, "--json")
        assert (asked.status, len(asked.ids)) == (status, 24)
        assert [fault for fault in asked.json["faults"] if fault["file"] == str(shelf / name)] != [] or not says
        assert not says or says in str(asked.json["faults"])


def test_a_file_of_another_program_is_left_as_it_is(shelf: Path, tmp_path: Path, pool: Callable[..., Any]) -> None:
    import sqlite3
    index = tmp_path / "index.sqlite"
    with sqlite3.connect(index) as other:
        other.execute("CREATE TABLE mine (a)")
    other.close()
    before = index.read_bytes()
    assert pool(shelf).status == Exit.NOT_WRITTEN
    assert index.read_bytes() == before
    index.write_bytes(b"these are my notes" * 100)
    asked = pool(shelf)
    assert asked.status == Exit.NOT_WRITTEN and "no index of puzzles" in asked.err
    assert index.read_bytes() == b"these are my notes" * 100


def test_an_index_of_another_form_is_made_anew(shelf: Path, tmp_path: Path, pool: Callable[..., Any]) -> None:
    import sqlite3
    pool(shelf)
    with sqlite3.connect(tmp_path / "index.sqlite") as old:
        old.execute("DROP TABLE idea")
        old.execute("PRAGMA user_version = 999")
    old.close()
    asked = pool(shelf, "--json")
    assert asked.status == Exit.FINE and len(asked.ids) == 24


def test_two_runs_on_one_index_do_not_meet(shelf: Path, tmp_path: Path, pool: Callable[..., Any]) -> None:
    with alone_at(tmp_path / "index.sqlite"):
        asked = pool(shelf)
    assert asked.status == Exit.NOT_WRITTEN and "another run" in asked.err


def test_a_folder_that_is_none_and_names_there_are_none_of(tmp_path: Path, pool: Callable[..., Any]) -> None:
    assert pool(tmp_path / "nowhere").status == Exit.UNREADABLE
    tmp_path.joinpath("empty").mkdir()
    asked = pool(tmp_path / "empty", "--json")
    assert (asked.status, asked.ids) == (Exit.FINE, [])
    asked = pool(tmp_path / "empty", "--rule", "knigth", "--idea", "x_wings", "--grade", "hard")
    assert asked.status == Exit.USAGE
    assert "did you mean knight?" in asked.err and "did you mean x_wing?" in asked.err


def test_a_folder_that_cannot_be_listed_is_not_taken_for_empty(
    shelf: Path, pool: Callable[..., Any], monkeypatch: pytest.MonkeyPatch,
) -> None:
    pool(shelf)
    scandir = os.scandir

    def refused(path: Any) -> Any:
        if str(path).endswith("below"):
            raise PermissionError(13, "Permission denied", str(path))
        return scandir(path)

    with monkeypatch.context() as patched:
        patched.setattr(os, "scandir", refused)
        asked = pool(shelf)
        assert asked.status == Exit.UNREADABLE and f"{shelf / 'below'}: cannot be looked into" in asked.err
    assert "0 files read, 0 puzzles solved, 0 gone" in pool(shelf).out


@pytest.mark.skipif(sys.platform != "linux", reason="this check did not run: file names are bytes on Linux alone")
def test_a_file_whose_name_is_no_text_is_told_of(shelf: Path, pool: Callable[..., Any]) -> None:
    Path(os.fsdecode(bytes(shelf) + b"/caf\xe9.yaml")).write_bytes((shelf / "one-0.yaml").read_bytes())
    asked = pool(shelf, "--json")
    assert asked.status == Exit.UNREADABLE and len(asked.ids) == 24
    assert "udce9" in asked.json["faults"][0]["file"]


def test_without_a_cache_nothing_is_kept(shelf: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    for _ in range(2):
        assert main(["pool", str(shelf), "--no-cache", "--cache", str(tmp_path / "kept")]) == Exit.FINE
        assert "9 files read, 24 puzzles solved" in capfd.readouterr().out
    assert not (tmp_path / "kept").exists()
    for solved in (24, 0):
        assert main(["pool", str(shelf), "--cache", str(tmp_path / "kept")]) == Exit.FINE
        assert f"{solved} puzzles solved" in capfd.readouterr().out
