"""Folders and files that one run at a time may write, as far as this machine goes."""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from cagework.typeset.host.disk import name_of, real

_PATIENCE = 1.0
"""Seconds to wait for another run: as long as the processes of one that was killed may take to be gone."""

_POLL = 0.05
"""Seconds between two looks."""


class TakenError(Exception):
    """Another run has this folder or file."""

    def __init__(self, path: Path) -> None:
        super().__init__(str(path))
        self.path = path


@contextmanager
def alone_at(*paths: Path, patience: float = _PATIENCE) -> Iterator[None]:
    """Have folders and files to oneself. TakenError where another run still has one after `patience` seconds.

    What says so lies in the system's folder for passing things, and is let go of when the process ends, however.
    """
    with ExitStack() as held:
        for path in sorted({real(path) for path in paths}):
            held.enter_context(_alone_at(path, patience))
        yield


@contextmanager
def _alone_at(path: Path, patience: float) -> Iterator[None]:
    """Hold the lock of a path. Its file is made and taken away only by who has the gate, which stays: or else one
    could be locked that is no longer there for others to see.
    """
    from filelock import FileLock, Timeout  # only what writes needs it, and it takes long to load
    folder, user = Path(tempfile.gettempdir()), getattr(os, "getuid", int)()
    gate = FileLock(folder / f"cagework-{user}.lock")
    lock = FileLock(folder / f"cagework-{name_of(path)}.lock", timeout=0)
    end = time.monotonic() + patience
    while not lock.is_locked:
        with gate, suppress(Timeout, PermissionError):      # or it is another user's
            lock.acquire()
        if not lock.is_locked:
            if time.monotonic() >= end:
                raise TakenError(path)
            time.sleep(_POLL)
    try:
        yield
    finally:
        with gate:
            lock.release()
            with suppress(OSError):
                Path(lock.lock_file).unlink(missing_ok=True)
