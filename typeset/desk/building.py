"""The book built from the desk: the command `build` in a process of its own, one at a time, heard as it goes."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cagework.typeset.desk.guard import Refused
from cagework.typeset.host.disk import digest
from cagework.typeset.host.files import recorded

_KINDS = {".pdf": "application/pdf", ".svg": "image/svg+xml"}
_MOST_LINES = 500
_EVERY = 0.1
"""Seconds between two tellings of how it goes."""

_PATIENCE = 20.0
"""Seconds that a build which was stopped has to put its files right."""


@dataclass(frozen=True, slots=True)
class BuiltFile:
    """A file that a build wrote: its bytes and its media type."""

    content: bytes
    kind: str


@dataclass(slots=True)
class _Run:
    """One build: what was asked, what it said so far, and what it wrote, by name, with checksums."""

    number: int = 0
    state: str = "none"
    options: tuple[str, ...] = ()
    step: str = ""
    done: int = 0
    of: int = 0
    log: list[str] = field(default_factory=list)
    faults: list[dict[str, Any]] = field(default_factory=list)
    said: str = ""
    notes: list[str] = field(default_factory=list)
    files: dict[str, str] = field(default_factory=dict)


_ENDS = {0: "built", 1: "refused", 2: "refused", 3: "failed", 130: "stopped"}
"""The command's exit status -> what became of the build."""


class Builder:
    """Builds one book into one folder, with what the command takes besides. Any thread may call any method.

    `listener` is told, from a thread of the build's own, that there is more to say.
    """

    def __init__(self, manifest: Path, out: Path, options: Sequence[str] = ()) -> None:
        self._manifest = manifest.absolute()
        self._out = out.absolute()
        self._named = out
        self._options = tuple(options)
        self.listener: Callable[[dict[str, Any]], None] = lambda _: None
        self._run = _Run()
        self._process: subprocess.Popen[str] | None = None
        self._closed = False
        self._changing = threading.Lock()       # of all the above
        self._telling = threading.Lock()        # so that what is told last is how it stands
        self._told = 0.0

    def start(self, options: Sequence[str]) -> None:
        """Begin to build, with options of the command. Raises Refused where a build is under way."""
        with self._changing:
            if self._closed or self._run.state in ("running", "stopping"):
                raise Refused(409, "a build is under way")
            command = [sys.executable, "-m", "cagework.typeset", "build", str(self._manifest), "--out",
                       str(self._out), "--json", *self._options, *options]
            run = self._run = _Run(self._run.number + 1, "running", tuple(options))
            self._process = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                encoding="utf-8", errors="replace", start_new_session=True)
            threading.Thread(target=self._hear, args=(run, self._process), name="desk build", daemon=True).start()
        self._tell()

    def stop(self) -> None:
        """Ask the build under way to end: at once, or, where its files are taking their places, after that."""
        with self._changing:
            if self._process is None or self._run.state != "running":
                return
            self._run.state = "stopping"
            self._process.terminate()       # a desk in the background, and its build, ignores SIGINT
        self._tell()

    def close(self) -> None:
        """End for good, with the build under way; what that has begun to write is put right."""
        with self._changing:
            self._closed = True
            process = self._process
        self.stop()
        if process is not None:
            try:
                process.wait(_PATIENCE)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()

    def state(self) -> dict[str, Any]:
        """How the build goes, or the last one went."""
        with self._changing:
            run = self._run
            return {"number": run.number, "state": run.state, "options": list(run.options), "step": run.step,
                    "done": run.done, "of": run.of, "log": list(run.log), "faults": list(run.faults),
                    "said": run.said, "notes": list(run.notes), "files": list(run.files), "out": str(self._named)}

    def file(self, number: int, name: str) -> BuiltFile | None:
        """A file of build `number`, by its name under the folder; None for any other, and for one that is not as
        it was written.
        """
        with self._changing:
            stated = self._run.files.get(name) if self._run.number == number else None
        if stated is None:
            return None
        try:
            content = (self._out / name).read_bytes()
        except OSError:
            return None
        kind = _KINDS.get(Path(name).suffix, "application/octet-stream")
        return BuiltFile(content, kind) if digest(content) == stated else None

    def _hear(self, run: _Run, process: subprocess.Popen[str]) -> None:
        """Until the process has nothing more to say."""
        assert process.stdout is not None, "it was asked for"
        files: list[str] = []
        with process.stdout as lines:
            for line in lines:
                with self._changing:
                    event = _event(line)
                    if event is None:
                        _log(run, line.rstrip())
                    else:
                        files += _take(run, event)
                if time.monotonic() - self._told > _EVERY:
                    self._tell()
        status = process.wait()
        written = recorded(self._out) if status == 0 else {}
        with self._changing:
            stopped = run.state == "stopping" and status != 0
            run.state = "stopped" if stopped else _ENDS.get(status, "failed")
            names = [name for name in map(self._name, files) if name in written]
            run.files = {name: written[name] for name in names}
            self._process = None
        self._tell()

    def _name(self, file: str) -> str:
        """A file by its name under the folder; nothing for one that lies elsewhere."""
        path = Path(file)
        return path.relative_to(self._out).as_posix() if path.is_relative_to(self._out) else ""

    def _tell(self) -> None:
        self._told = time.monotonic()
        with self._telling:
            with self._changing:
                run = self._run
                said = {"number": run.number, "state": run.state, "done": run.done, "of": run.of, "step": run.step}
            self.listener(said)


def _event(line: str) -> Mapping[str, Any] | None:
    """What the command says of its work; None for any other line of its output."""
    try:
        said = json.loads(line)
    except ValueError:
        return None
    return said if isinstance(said, dict) and "event" in said else None


def _take(run: _Run, event: Mapping[str, Any]) -> list[str]:
    """Put down an event; the files, where it names some."""
    match event["event"]:
        case "step":
            run.step, run.done, run.of = event["step"], event["done"], event["of"]
            if run.log and run.log[-1].startswith(f"{run.step}: "):
                run.log.pop()
            _log(run, f"{run.step}: {run.done} of {run.of}")
        case "fault":
            run.faults.append({key: value for key, value in event.items() if key != "event"})
            _log(run, f"{event['file']}:{event['line']}:{event['column']}: {event['message']}")
        case "built":
            run.said, run.notes = event["said"], list(event["notes"])
            _log(run, run.said)
            return list(event["files"])
    return []


def _log(run: _Run, line: str) -> None:
    if line:
        run.log.append(line)
        del run.log[:-_MOST_LINES]
