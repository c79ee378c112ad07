"""A build or columns killed, or told to stop, at every point where it touches the disk: old or new, and no trace.

Python's audit events (docs.python.org/3/library/audit_events.html) tell of each file operation before it is done.
Here every one of them, in forked copies of one process; whole commands in `tests/bench/kills.py`.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="not run: it forks; run it on Linux")

BEGIN = """
import json, os, shutil, signal, sys
from functools import partial
from pathlib import Path
from cagework.typeset.columns import store
from cagework.typeset.host import files
from cagework.typeset.host.interrupts import Interrupts
from cagework.typeset.host.unfinished import mend_all

HOME = Path(sys.argv[1])
MENDERS = {files.KIND: files.mend, store.KIND: store.mend}
EVENTS = {"open", "os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "shutil.rmtree"}
left, number = 0, None

def hear(event, arguments):
    global left
    if left > 0 and event in EVENTS and any(name in str(arguments) for name in (str(HOME), "unfinished")):
        left -= 1
        if left == 0:
            os.kill(os.getpid(), number)

sys.addaudithook(hear)
os.fsync = lambda _handle: None      # what survives the machine's own end is not looked at here

def held(home):
    return {str(path.relative_to(home)): path.is_file() and path.read_text()
            for path in sorted(home.rglob("*")) if "cache" not in path.relative_to(home).parts}

def stopped_at(point, with_signal, home, work):
    '''What a copy of this process says when the signal comes at its n-th file operation, and its status.'''
    global left, number
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        interrupts = Interrupts()
        with interrupts.heard():
            try:
                left, number = point, with_signal
                work(home, interrupts)
                said = interrupts.said if interrupts.asked else "came to its end" if left else "late"
            except KeyboardInterrupt:
                said = interrupts.said
        os.write(writing, said.encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as told:
        said = told.read()
    os.waitpid(child, 0)
    return said

def tried(prepare, work):
    '''Every point: (signal, what was said, what was there then, what was there after the next command).'''
    found = []
    for kinds in ((signal.SIGKILL,), (signal.SIGTERM, signal.SIGINT)):
        for point in range(1, 400):
            with_signal = kinds[point % len(kinds)]
            home = HOME / f"{with_signal}-{point}"
            home.mkdir(parents=True)
            prepare(home)
            said = stopped_at(point, with_signal, home, work)
            then = held(home)
            mend_all(MENDERS)
            found.append([int(with_signal), said, then, held(home)])
            shutil.rmtree(home)
            if said == "came to its end":
                break
        else:
            raise SystemExit("it never came to its end")
    left = [path.name for path in (Path(os.environ["XDG_CACHE_HOME"]) / "cagework" / "unfinished").iterdir()]
    print(json.dumps([found, left]))
"""

BOOK = """
OLD = {Path("book.pdf"): b"old", Path("puzzles/a.svg"): b"old a", Path("answers/a.svg"): b"old answer"}
NEW = {Path("book.pdf"): b"new", Path("book-press.pdf"): b"new press", Path("puzzles/b.svg"): b"new b",
       Path("deep/er/c.svg"): b"new c"}

def prepare(home):
    if BEFORE == "nothing":
        return
    if BEFORE == "an empty folder":
        return (home / "out").mkdir()
    (home / "out" / "puzzles").mkdir(parents=True)
    (home / "out" / "puzzles" / "mine.svg").write_text("the editor's own")
    if BEFORE == "links":
        (home / "elsewhere").mkdir()
        (home / "elsewhere" / "book.pdf").write_text("")
        (home / "out" / "book.pdf").symlink_to("../elsewhere/book.pdf")
    files.replace_all(home / "out", OLD)

def work(home, interrupts):
    files.replace_all(home / "out", NEW, hold=partial(interrupts.placing, "the book was written"))
"""

COLUMNS = """
def made(title, stem):
    row = {"date": stem[:10], "slot": stem[11:], "title": title,
           **{ending: f"{stem}.{ending}" for ending in ("pdf", "svg", "txt")}}
    index = ",".join(store.COLUMNS) + "\\n" + ",".join(row.get(name, "") for name in store.COLUMNS) + "\\n"
    return {f"{stem}.pdf": title.encode(), f"{stem}.txt": title.encode(), "index.csv": index.encode()}

def prepare(home):
    if BEFORE == "nothing":
        return
    if BEFORE == "an empty folder":
        return (home / "out").mkdir()
    if BEFORE == "links":
        (home / "far").mkdir()
        (home / "far" / "columns").mkdir()
        (home / "far" / "used.yaml").write_text("")
        (home / "out").symlink_to("far/columns")
        (home / "used.yaml").symlink_to("far/used.yaml")
    store.store(home / "out", made("old", "2027-03-01-a"), home / "used.yaml", "old")

def work(home, interrupts):
    store.store(home / "out", made("new", "2027-03-08-a"), home / "used.yaml", "new",
                partial(interrupts.placing, "the columns were written"))
"""


def tried(script: str, before: str, home: Path) -> list[list[Any]]:
    code = f"{BEGIN}\nBEFORE = {before!r}\n{script}\ntried(prepare, work)\n"
    done = subprocess.run([sys.executable, "-c", code, home / "tried"], capture_output=True, text=True,
                          check=False, env={**os.environ, "XDG_CACHE_HOME": str(home / "kept")}, timeout=300)
    assert (done.returncode, done.stderr) == (0, "")
    found, left = json.loads(done.stdout)
    assert left == [], "no note of an unfinished run is left"
    return list(found)


@pytest.mark.parametrize("before", ["nothing", "an empty folder", "an earlier run", "links"])
@pytest.mark.parametrize(("script", "wrote"), [
    (BOOK, "the book was written"), (COLUMNS, "the columns were written")], ids=["build", "columns"])
def test_stopped_anywhere_it_is_old_or_new_and_what_is_said_is_true(
    script: str, wrote: str, before: str, tmp_path: Path,
) -> None:
    found = tried(script, before, tmp_path)
    new = found[-1][3]
    old = next(after for _, said, _, after in found if said == "stopped; nothing was written")
    assert old != new and not any(Path(name).name.startswith(".") for name in (*old, *new))
    if before in ("nothing", "an empty folder"):
        assert old == ({} if before == "nothing" else {"out": False})
    else:
        assert "new" not in str(old.values()) and (script is COLUMNS or new["out/puzzles/mine.svg"])
    for signal, said, then, after in found:
        if signal == 9:
            assert after in (old, new)
        elif said in (f"stopped; {wrote}", "came to its end"):
            assert then == after == new
        else:
            assert (said, then, after) == ("stopped; nothing was written", old, old)
    said_of = {(signal, said) for signal, said, _, _ in found}
    assert {(two, f"stopped; {word}") for two in (2, 15) for word in (wrote, "nothing was written")} <= said_of
    assert {str(old), str(new)} == {str(after) for signal, _, _, after in found if signal == 9}
