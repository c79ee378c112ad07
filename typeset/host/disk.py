"""Single files and folders on disk: written through to it, whole or not at all, and where a name leads."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable
from pathlib import Path


def real(path: Path) -> Path:
    """Where a path leads once every link on the way is followed; it need not be there.

    Unlike `Path.resolve`, links that lead in a circle raise nothing here: opening such a path does, an OSError.
    """
    return Path(os.path.realpath(path))


def beside(path: Path) -> Path:
    """Where what is to become a file waits: the same file system, so that it can take its place by a rename."""
    return path.with_name(f".{path.name.lstrip('.')}.part")


def digest(content: bytes) -> str:
    """The SHA-256 in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def name_of(path: Path) -> str:
    """What stands for a file or folder where another is named after it: 32 hexadecimal figures."""
    return digest(os.fsencode(real(path)))[:32]


def write_through(path: Path, content: bytes) -> None:
    """Write a file and have it on disk."""
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, in place of any of that name, and have it on disk by that name."""
    part = beside(path)
    try:
        write_through(part, content)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    flush_folder(path.parent)


def flush_folder(folder: Path) -> None:
    """Have a folder's names on disk, where the system can."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def wanting_folders(folders: Iterable[Path]) -> tuple[Path, ...]:
    """The folders that have to be made for these to be there, outermost first."""
    wanting: dict[Path, None] = {}
    for folder in folders:
        chain = [one for one in (folder, *folder.parents) if not one.exists()]
        wanting |= dict.fromkeys(reversed(chain))
    return tuple(wanting)


def take_away_empty(folders: Iterable[Path]) -> None:
    """Take away those of some folders, outermost first, that hold nothing."""
    for folder in reversed(tuple(folders)):
        with contextlib.suppress(OSError):      # it holds something, or is not there
            folder.rmdir()
