"""Folders and files that one run at a time may write, as far as this machine goes."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from cagework.typeset.host.disk import digest, real

_PATIENCE = 1.0
"""Seconds to wait for another run: as long as the processes of one that was killed may take to be gone."""


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
    from filelock import FileLock, Timeout  # only what writes needs it, and it takes long to load
    with ExitStack() as held:
        for path in sorted({real(path) for path in paths}):
            name = f"cagework-{digest(os.fsencode(path))[:32]}.lock"
            try:
                held.enter_context(FileLock(Path(tempfile.gettempdir()) / name, timeout=patience))
            except Timeout:
                raise TakenError(path) from None
        yield
