"""A folder of files and the ledger, both or neither.

All files go into a new folder beside the one wanted, are flushed to disk, and the folder takes its place by one
rename; the ledger's next text waits beside the ledger, written before and put in place after. The waiting text
names the folder it belongs to and a digest of its index, so that a run broken off between the two is seen by the
next one, of whatever series: it finishes the ledger where the folder is in place, and forgets the text where not.

Meanwhile no other run on this machine may have either: it would print from a ledger that is about to change.
"""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout

INDEX = "index.csv"
"""The file that lists the others; a folder that holds it is one of ours."""

_CLAIM = "# waiting for "


@dataclass(frozen=True, slots=True)
class Stored:
    """The files in place; `changed` is False where all stood there already."""

    files: tuple[Path, ...]
    changed: bool


class TakenError(Exception):
    """Another run has this folder or ledger."""

    def __init__(self, path: Path) -> None:
        super().__init__(str(path))
        self.path = path


@contextmanager
def alone_at(*paths: Path) -> Iterator[None]:
    """Have folders and ledgers to oneself, as far as this machine goes. TakenError where another run has one.

    What says so lies in the system's folder for passing things, and is let go of when the process ends, however.
    """
    with ExitStack() as held:
        for path in sorted({path.resolve() for path in paths}):
            name = f"cagework-{_digest(os.fsencode(path))[:32]}.lock"
            try:
                held.enter_context(FileLock(Path(tempfile.gettempdir()) / name, timeout=0))
            except Timeout:
                raise TakenError(path) from None
        yield


def store(folder: Path, files: Mapping[str, bytes], ledger: Path | None, text: str) -> Stored:
    """Put `files` (name -> content) into `folder` and `text` into the ledger. Raises OSError, and
    FileExistsError where the folder holds what no series made.

    Where folder and ledger are as they would become, nothing is touched.
    """
    placed = tuple(folder / name for name in files)
    same = _holds(folder, files)
    ledger_same = ledger is None or (ledger.is_file() and ledger.read_text(encoding="utf-8") == text)
    if same and ledger_same:
        return Stored(placed, False)
    if not same:
        _check_ours(folder)
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = folder.with_name(f".{folder.name}.part")
    waiting = None if ledger is None else waiting_of(ledger)
    try:
        if ledger is not None and waiting is not None and not ledger_same:
            ledger.parent.mkdir(parents=True, exist_ok=True)
            claim = f"{_CLAIM}{_digest(files[INDEX])} {folder.absolute()}\n"
            _replace(waiting, (claim + text).encode())
        if not same:
            _fill(part, files)
            _swap(part, folder)
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        if waiting is not None and not _holds(folder, files):
            waiting.unlink(missing_ok=True)
        raise
    if ledger is not None:
        settle(ledger)
    return Stored(placed, True)


def settle(ledger: Path) -> None:
    """Finish or forget what a run that was broken off left beside a ledger. Raises OSError."""
    waiting = waiting_of(ledger)
    for rest in (_part(waiting), _part(ledger)):
        rest.unlink(missing_ok=True)
    if not waiting.is_file():
        return
    claim, _, text = waiting.read_text(encoding="utf-8").partition("\n")
    digest, _, folder = claim.removeprefix(_CLAIM).partition(" ")
    restore(Path(folder))
    index = Path(folder) / INDEX
    if claim.startswith(_CLAIM) and index.is_file() and _digest(index.read_bytes()) == digest:
        _replace(ledger, text.encode())
    waiting.unlink()


def restore(folder: Path) -> None:
    """Put back the folder that a run broken off in the middle of a swap left aside, and clear what is left."""
    aside = _aside(folder)
    if aside.is_dir() and not folder.exists():
        aside.rename(folder)
    for rest in (aside, folder.with_name(f".{folder.name}.part")):
        shutil.rmtree(rest, ignore_errors=True)


def waiting_of(ledger: Path) -> Path:
    """Where a ledger's next text waits."""
    return ledger.with_name(f".{ledger.name}.next")


def _part(path: Path) -> Path:
    return path.with_name(f".{path.name.lstrip('.')}.part")


def _aside(folder: Path) -> Path:
    return folder.with_name(f".{folder.name}.before")


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _holds(folder: Path, files: Mapping[str, bytes]) -> bool:
    """Whether a folder holds these files, as they are."""
    return all((folder / name).is_file() and (folder / name).read_bytes() == content
               for name, content in files.items())


def _listed(index: Path) -> set[str]:
    """The files an index names, and those every series has."""
    rows = index.read_text(encoding="utf-8").splitlines() if index.is_file() else []
    named = {cell for row in rows for cell in row.split(",") if cell.endswith((".pdf", ".svg", ".txt"))}
    return named | {INDEX, "contact-sheet.pdf"}


def _check_ours(folder: Path) -> None:
    """Refuse to replace a folder that holds anything its own index does not name."""
    if not folder.exists():
        return
    if not folder.is_dir():
        raise FileExistsError(errno.EEXIST, "it is a file; a folder of that name is to be written", str(folder))
    held = {entry.name for entry in folder.iterdir()}
    strange = sorted(held - _listed(folder / INDEX)) if INDEX in held else sorted(held)
    if strange:
        what = f"it holds what no series made ({', '.join(strange[:3])}); name another folder with --out"
        raise FileExistsError(errno.EEXIST, what, str(folder))


def _fill(part: Path, files: Mapping[str, bytes]) -> None:
    shutil.rmtree(part, ignore_errors=True)
    part.mkdir()
    for name, content in files.items():
        _write(part / name, content)
    _flush(part)


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _replace(path: Path, content: bytes) -> None:
    """Write a file whole or not at all."""
    part = _part(path)
    try:
        _write(part, content)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _flush(folder: Path) -> None:
    """Have a folder's names on disk, where the system can."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _swap(part: Path, folder: Path) -> None:
    """Put a finished folder in the place of the old one."""
    aside = _aside(folder)
    shutil.rmtree(aside, ignore_errors=True)
    if folder.exists():
        folder.rename(aside)
    try:
        part.rename(folder)
    except BaseException:
        if aside.exists() and not folder.exists():
            aside.rename(folder)
        raise
    _flush(folder.parent)
    shutil.rmtree(aside, ignore_errors=True)
