"""What a run is about to write, noted where the next command of any kind looks, should this one never finish.

A note only says where to look: what is to be completed or taken back stands beside the files themselves. Notes lie
in the user's cache folder; where that cannot be written, the next run into the same folder puts things right.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_cache_path

from cagework.typeset.host.disk import digest, take_away_empty, wanting_folders, write_whole
from cagework.typeset.host.locks import TakenError, alone_at

_AFTER_DEATH = 2.0
"""Seconds to wait for the processes of a run that was killed."""

Mend = Callable[[tuple[Path, ...]], bool]
"""Completes or takes back what was left at a run's paths; whether anything was. Raises OSError."""


@dataclass(frozen=True, slots=True)
class _Note:
    """A run at work: its process, what kind of files it writes, where, and which folders it had to make."""

    process: int
    kind: str
    paths: tuple[Path, ...]
    made: tuple[Path, ...]


@contextmanager
def noted(kind: str, mend: Mend, *paths: Path, folders: tuple[Path, ...] = ()) -> Iterator[None]:
    """Make `folders` and leave a note of `paths` until done; on failure `mend` them, and the folders made go again
    if empty.

    A process that is killed, also while mending, leaves the note. Raises OSError.
    """
    made = wanting_folders(folders)
    note = _Note(os.getpid(), kind, paths, made)
    place = _place(note)
    with suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        write_whole(place, _as_json(note).encode())
    try:
        for folder in made:
            folder.mkdir(exist_ok=True)
        yield
    except BaseException:
        mend(paths)
        take_away_empty(made)
        _forget(place)
        raise
    _forget(place)


def _forget(place: Path) -> None:
    with suppress(OSError):
        place.unlink(missing_ok=True)


def mend_all(menders: Mapping[str, Mend]) -> tuple[Path, ...]:
    """Put right what runs that are no more left unfinished: where that was. What another run has is left to it."""
    mended = []
    for place in notes():
        note = _read(place)
        if note is None or note.kind not in menders:
            _forget(place)
        else:
            patience = 0.0 if _may_live(note.process) else _AFTER_DEATH
            with suppress(OSError, TakenError), alone_at(*note.paths, patience=patience):
                left = menders[note.kind](note.paths)
                take_away_empty(note.made)
                _forget(place)
                mended += [note.paths[0]] if left else []
    return tuple(mended)


def notes() -> list[Path]:
    """Every note; half-written ones of processes killed at it are thrown away, as nothing was begun then."""
    with suppress(OSError):
        for part in _folder().glob(".*.part"):
            part.unlink(missing_ok=True)
        return sorted(_folder().glob("*.json"))
    return []


def _folder() -> Path:
    return user_cache_path("cagework", appauthor=False) / "unfinished"


def _place(note: _Note) -> Path:
    said = "\0".join((note.kind, *map(str, note.paths)))
    return _folder() / f"{digest(said.encode(errors='surrogateescape'))[:32]}.json"


def _as_json(note: _Note) -> str:
    return json.dumps([note.process, note.kind, [*map(str, note.paths)], [*map(str, note.made)]])


def _read(place: Path) -> _Note | None:
    try:
        process, kind, paths, made = json.loads(place.read_text(encoding="utf-8"))
        return _Note(int(process), str(kind), tuple(map(Path, paths)), tuple(map(Path, made)))
    except (OSError, ValueError, TypeError):
        return None


def _may_live(process: int) -> bool:
    """Whether a process is still there, or was not waited for; True where the system cannot say without harm."""
    if os.name == "posix":
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return False
        except OSError:
            return True
    return True
