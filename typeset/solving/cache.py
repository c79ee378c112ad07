"""Findings kept on disk, so that a puzzle that has not changed is not solved again.

An entry's name is the hash of what it was made from, and what seals it covers the name; a folder holds the entries
of one version of the code. Any of it may be deleted at any time. Two processes may share it: an entry appears
whole, by renaming, or not at all. A folder that cannot be read or written is no reason to stop: what is not found
there is worked out anew.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterable
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from platformdirs import user_cache_path

from cagework.typeset.solving.record import sealed, unsealed
from cagework.typeset.solving.written import RecordError

_STALE = 30 * 24 * 3600.0
"""Seconds after which entries of another version of the code, not opened since, are thrown away."""


class Cache:
    """A folder of entries by name. The names are hexadecimal hashes, so that none can lead out of it."""

    def __init__(self, folder: Path | None = None) -> None:
        """Open `folder`, or the user's own cache folder (XDG_CACHE_HOME where that is set)."""
        self.top = top = folder if folder is not None else user_cache_path("cagework", appauthor=False)
        self._folder = top / code_version()[:16]
        with contextlib.suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            os.utime(self._folder)
            _sweep(top, self._folder)

    def get(self, kind: str, key: str) -> bytes | None:
        """An entry's bytes as they were put; None where there is none."""
        try:
            return self._path(kind, key).read_bytes()
        except OSError:
            return None

    def put(self, kind: str, key: str, data: bytes) -> None:
        """Keep an entry, in place of any of that name."""
        target = self._path(kind, key)
        part = None
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            with tempfile.NamedTemporaryFile(dir=target.parent, suffix=".part", delete=False) as file:
                part = Path(file.name)
                file.write(data)
            part.replace(target)
        except OSError:
            if part is not None:
                with contextlib.suppress(OSError):
                    part.unlink(missing_ok=True)

    def get_json(self, kind: str, key: str) -> object:
        """A JSON value that was put under this name; None where there is none, or it was damaged."""
        data = self.get(kind, key)
        try:
            return None if data is None else unsealed(data, f"{kind} {key}")
        except RecordError:
            return None

    def put_json(self, kind: str, key: str, value: object) -> None:
        """Keep a JSON value."""
        self.put(kind, key, sealed(value, f"{kind} {key}"))

    def _path(self, kind: str, key: str) -> Path:
        return self._folder / kind / key[:2] / key


@functools.cache
def code_version() -> str:
    """The SHA-256 of all code that decides what is found and how it is kept: the solver with its rules and
    techniques, the form of a record and of the path in it, and the words of a diagnosis.
    """
    here = files(__package__)
    return hash_of((*sources(files("cagework.solver")),
                    *[here / name for name in ("record.py", "written.py", "as_written.py", "diagnose.py")]))


def hash_of(code: Iterable[Traversable]) -> str:
    """The SHA-256 of some files, in their order, by name and content."""
    found = hashlib.sha256()
    for source in code:
        text = source.read_bytes()
        found.update(f"{source.name} {len(text)} ".encode() + text)
    return found.hexdigest()


def sources(folder: Traversable) -> list[Traversable]:
    """The modules of a package and of those below it, by name."""
    inside = sorted(folder.iterdir(), key=lambda item: item.name)
    return [item for part in inside for item in (
        sources(part) if part.is_dir() else [part] if part.name.endswith(".py") else [])]


def _sweep(top: Path, kept: Path) -> None:
    """Throw away the entries of versions that nothing has opened for long."""
    oldest = time.time() - _STALE
    for folder in top.iterdir():
        if folder != kept and len(folder.name) == len(kept.name) and folder.stat().st_mtime < oldest:
            shutil.rmtree(folder, ignore_errors=True)
