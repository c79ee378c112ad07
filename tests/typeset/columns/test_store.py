"""All files and the ledger, or nothing: a process is killed at every point where it touches the disk."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from cagework.typeset.columns.store import COLUMNS, INDEX, restore, settle, store

KILLED = """
import os, pathlib, sys
from pathlib import Path
from cagework.typeset.columns.store import store

left = int(sys.argv[2])

def deadly(real):
    def call(*arguments, **keywords):
        global left
        left -= 1
        if left == 0:
            os._exit(9)
        return real(*arguments, **keywords)
    return call

os.fsync = deadly(os.fsync)
for name in ("rename", "replace", "unlink", "mkdir", "open"):
    setattr(Path, name, deadly(getattr(Path, name)))
home = Path(sys.argv[1])
new = {"2027-03-01-a.pdf": b"new a", "2027-03-01-a.txt": b"new b", "index.csv": sys.argv[3].encode()}
store(home / "out", new, home / "ledger.yaml", "new")
os._exit(0)
"""


def index(title: str, *stems: str) -> bytes:
    """An index of the form that `columns` writes, a row for each date and slot."""
    rows = [",".join(COLUMNS)]
    for stem in stems or ("2027-03-01-a",):
        said = {"date": stem[:10], "slot": stem[11:], "title": title,
                **{ending: f"{stem}.{ending}" for ending in ("pdf", "svg", "txt")}}
        rows.append(",".join(said.get(column, "") for column in COLUMNS))
    return "\n".join([*rows, ""]).encode()


OLD = {"2027-03-01-a.pdf": b"old a", "2027-03-01-a.txt": b"old b", INDEX: index("old")}
NEW = {"2027-03-01-a.pdf": b"new a", "2027-03-01-a.txt": b"new b", INDEX: index("new")}


def held(folder: Path) -> dict[str, bytes] | None:
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else None


def kill_at(home: Path, point: int) -> int:
    return subprocess.run([sys.executable, "-c", KILLED, home, str(point), NEW[INDEX].decode()], check=False,
                          env={**os.environ, "XDG_CACHE_HOME": str(home / "cache")}).returncode


@pytest.mark.parametrize("before", ["nothing", "an earlier run", "an empty folder"])
def test_a_run_killed_anywhere_leaves_all_or_nothing(before: str, tmp_path: Path) -> None:
    """SIGKILL has no handler either: `os._exit` at the n-th call that touches the disk, for every n."""
    seen: set[str] = set()
    for point in range(1, 200):
        home = tmp_path / str(point)
        home.mkdir()
        if before == "an earlier run":
            store(home / "out", OLD, home / "ledger.yaml", "old")
        elif before == "an empty folder":
            (home / "out").mkdir()
        status = kill_at(home, point)
        folder = held(home / "out")
        old = OLD if before == "an earlier run" else None
        assert folder in (NEW, old, {} if before == "an empty folder" else None, None)
        ledger = home / "ledger.yaml"
        assert not ledger.exists() or ledger.read_text() == "old" or folder == NEW, "the ledger never runs ahead"
        restore(home / "out")
        settle(ledger)
        settled = held(home / "out")
        assert settled in (NEW, OLD) if old else settled in (NEW, None, {})
        assert (ledger.exists() and ledger.read_text() == "new") is (settled == NEW)
        assert [path.name for path in home.iterdir() if path.name.startswith(".")] == []
        seen.add("new" if settled == NEW else "old")
        if status == 0:
            break
    else:
        pytest.fail("the run never came to its end")
    assert seen == {"new", "old"}, "some kills came before the point of no return and some after"


def test_an_error_on_the_way_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device", str(target))

    store(tmp_path / "out", OLD, tmp_path / "ledger.yaml", "old")
    monkeypatch.setattr(Path, "rename", broken)
    with pytest.raises(OSError, match="No space left"):
        store(tmp_path / "out", NEW, tmp_path / "ledger.yaml", "new")
    monkeypatch.undo()
    assert held(tmp_path / "out") == OLD
    assert (tmp_path / "ledger.yaml").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["ledger.yaml", "out"]


def test_storing_twice_touches_nothing(tmp_path: Path) -> None:
    first = store(tmp_path / "out", NEW, tmp_path / "ledger.yaml", "new")
    times = {path: path.stat().st_mtime_ns for path in (*first.files, tmp_path / "ledger.yaml", tmp_path / "out")}
    again = store(tmp_path / "out", NEW, tmp_path / "ledger.yaml", "new")
    assert first.changed and not again.changed
    assert {path: path.stat().st_mtime_ns for path in times} == times


def test_a_folder_of_other_things_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "thesis.pdf").write_bytes(b"years of work")
    with pytest.raises(FileExistsError, match=r"thesis\.pdf"):
        store(tmp_path / "out", NEW, None, "")
    assert held(tmp_path / "out") == {"thesis.pdf": b"years of work"}


def test_a_stray_file_beside_an_earlier_run_stops_the_next(tmp_path: Path) -> None:
    store(tmp_path / "out", OLD, None, "")
    (tmp_path / "out" / "notes.docx").write_bytes(b"mine")
    with pytest.raises(FileExistsError, match=r"notes\.docx"):
        store(tmp_path / "out", NEW, None, "")
    assert held(tmp_path / "out") == OLD | {"notes.docx": b"mine"}
