"""Commands that are stopped, or cannot say what they have to say, and commands that want the same folder."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from cagework.typeset.commands.exits import Exit
from cagework.typeset.host.locks import alone_at

PROGRAM = [sys.executable, "-m", "cagework.typeset"]
SOUND = """\
- id: {name}
  title: {title}
  size: 4
  map: |
    aabc
    dabc
    deec
    dfff
  sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}
"""
STOPPED = """
import os, signal, sys
from cagework.typeset.__main__ import main

event, name = sys.argv[1:3]

def hear(heard, arguments):
    global name
    if heard == event and str(arguments[0]).endswith(name):
        name = "\\0"
        os.kill(os.getpid(), signal.SIGTERM)

sys.addaudithook(hear)
sys.argv[1:] = sys.argv[3:]
sys.exit(main())
"""


def book(folder: Path, title: str, *names: str) -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / f"{title}.yaml"
    path.write_text(f"book: {{title: {title}}}\npuzzles:\n" + "".join(
        SOUND.format(name=name, title=name.title()) for name in names), encoding="utf-8")
    return path


def start(*arguments: str | Path, **more: Any) -> subprocess.Popen[str]:
    return subprocess.Popen([*PROGRAM, *map(str, arguments)], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                            text=True, **more)


def ran(*arguments: str | Path, **more: Any) -> tuple[int, str, str]:
    with start(*arguments, **more) as command:
        out, err = command.communicate(timeout=120)
    return command.returncode, out, err


def held(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.skipif(os.name != "posix", reason="this check did not run: it needs POSIX signals")
@pytest.mark.parametrize(("event", "name", "said"), [
    ("open", "/out/.book.pdf.part", "nothing was written"),
    ("os.rename", "/out/.book.pdf.part", "the book was written"),
    ("os.remove", "/out/.cagework-journal", "the book was written")])
def test_a_build_that_is_told_to_stop_says_truly_what_was_written(
    event: str, name: str, said: str, tmp_path: Path,
) -> None:
    """While it writes the pages aside, as the first file takes its place, and when all have theirs; at every other
    file operation in `host/test_kills.py`.
    """
    out = tmp_path / "out"
    done = subprocess.run([sys.executable, "-c", STOPPED, event, name, "build", book(tmp_path, "Old", "lamp"),
                           "--out", out], capture_output=True, text=True, check=False, timeout=120)
    assert (done.returncode, done.stderr) == (Exit.INTERRUPTED, f"stopped; {said}\n")
    assert sorted(held(out)) == ([] if said == "nothing was written" else [
        "SHA256SUMS", "answers/lamp.svg", "book.pdf", "puzzles/lamp.svg"])


def test_an_interrupt_in_the_first_second_is_no_traceback(tmp_path: Path) -> None:
    """At moments while the program is being loaded; those before Python hears signals at all are its own."""
    manifest = book(tmp_path, "Old", "lamp")
    code = ("import os, signal, sys\nfrom cagework.typeset.__main__ import main\nleft = int(sys.argv[1])\n"
            "def hear(event, arguments):\n    global left\n    left -= event == 'import'\n"
            "    if left == 0:\n        left = -1\n        os.kill(os.getpid(), signal.SIGINT)\n"
            "sys.addaudithook(hear)\nsys.argv[1:] = sys.argv[2:]\nsys.exit(main())\n")
    for point in (1, 40, 200):
        done = subprocess.run([sys.executable, "-c", code, str(point), "check", manifest], capture_output=True,
                              text=True, check=False, timeout=120)
        assert (done.returncode, done.stdout, done.stderr) == (130, "", "stopped; nothing was written\n")


def test_a_second_build_into_a_folder_says_so_and_writes_nothing(tmp_path: Path) -> None:
    """And so do columns, which share the folder's lock, and pictures."""
    manifest, out = book(tmp_path, "Old", "lamp"), tmp_path / "out"
    with alone_at(out):
        status, said, err = ran("build", manifest, "--out", out)
    assert (status, said) == (Exit.FAULTS, "")
    assert err.splitlines()[0] == f"{out}: another run is writing into this folder at this moment"
    assert not out.exists()


def test_of_builds_at_once_one_writes_its_whole_book(tmp_path: Path) -> None:
    out, cache = tmp_path / "out", {**os.environ, "XDG_CACHE_HOME": str(tmp_path / "cache")}
    names = ("Lamp", "Post", "Lantern")
    commands = [start("build", book(tmp_path, name, name.lower()), "--out", out, env=cache) for name in names]
    statuses = []
    for command in commands:
        _, err = command.communicate(timeout=120)
        statuses.append(command.returncode)
        assert "Traceback" not in err
    assert set(statuses) <= {Exit.FINE, Exit.FAULTS} and Exit.FINE in statuses
    record = (out / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    listed = {line[66:]: line[:64] for line in record}
    assert {name: hashlib.sha256(data).hexdigest() for name, data in held(out).items()
            if name != "SHA256SUMS"} == listed


@pytest.mark.parametrize("arguments", [("check", "--json"), ("check",), ("check", "--why")])
def test_a_terminal_that_lacks_a_character_gets_another(arguments: tuple[str, ...], tmp_path: Path) -> None:
    manifest = tmp_path / "zwö.yaml"
    manifest.write_text("id: fork\ntitle: Fork\nsize: 6\ncages: []\nrules: [" + "ö" * 50 + "]\n", encoding="utf-8")
    plain = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "1"}
    status, out, err = ran(arguments[0], manifest, *arguments[1:], env=plain)
    assert (status, "Traceback" in err) == (Exit.FAULTS, False)
    assert out.isascii() and "invalid" in out
    if "--json" in arguments:
        assert json.loads(out)["puzzles"][0]["file"] == str(manifest)
    else:
        assert "\\u00f6" in out and "\\u2026" in out


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this check did not run: it needs /dev/full (full(4))")
@pytest.mark.parametrize("command", ["check", "build", "schema", "--help"])
def test_a_full_disk_under_what_is_said_is_no_traceback(command: str, tmp_path: Path) -> None:
    manifest, out = book(tmp_path, "Old", "lamp"), tmp_path / "out"
    arguments = {"check": [manifest], "build": [manifest, "--out", out]}.get(command, [])
    usual = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    with Path("/dev/full").open("w") as full:
        done = subprocess.run([*PROGRAM, command, *map(str, arguments)], stdout=full, stderr=subprocess.PIPE,
                              env=usual, text=True, check=False, timeout=120)
        wrote = "; the book was written" if command == "build" else ""
        assert (done.returncode, done.stderr) == (
            Exit.NOT_WRITTEN, f"cannot write what there is to say: No space left on device{wrote}\n")
        assert out.exists() is (command == "build")
        both = subprocess.run([*PROGRAM, command, *map(str, arguments)], stdout=full, stderr=full,
                              env=usual, check=False, timeout=120)
    assert both.returncode == Exit.NOT_WRITTEN
