"""A folder of files and the ledger, both or neither.

All files go into a new folder beside the one wanted, are flushed to disk, and the folder takes its place by one
rename; the ledger's next text waits beside the ledger, written before and put in place after. The waiting text
names the folder it belongs to and a digest of its index, so that a run broken off between the two is seen by the
next one, of whatever series, and by the next command of any kind (`unfinished`): it finishes the ledger where the
folder is in place, and forgets the text where not.

A ledger or a folder that is a link stays one: what it leads to is what is changed.
"""

from __future__ import annotations

import csv
import errno
import io
import json
import re
import shutil
from collections.abc import Mapping
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

from cagework.typeset.host.disk import beside, digest, flush_folder, real, write_through, write_whole
from cagework.typeset.host.files import Hold
from cagework.typeset.host.unfinished import noted

INDEX = "index.csv"
"""The file that lists the others; a folder that holds one of ours is one of ours."""
CONTACT = "contact-sheet.pdf"
"""The file every series has beside those."""
COLUMNS = (
    "date", "weekday", "slot", "language", "number", "place", "puzzle", "title", "credit", "grade", "wanted",
    "pdf", "svg", "txt", "width_mm", "height_mm", "squeeze", "dropped",
)
"""The columns of the index, one row a puzzle in a slot; weekday in English, the rest as the manifest has it."""

KIND = "columns"
"""What a note of an unfinished run into such a folder is called."""

_CLAIM = "# waiting for "
_STEM = re.compile(r"\d{4}-\d{2}-\d{2}-[^/\\\0]+")
_ENDINGS = ("pdf", "svg", "txt")


@dataclass(frozen=True, slots=True)
class Stored:
    """The files in place; `changed` is False where all stood there already."""

    files: tuple[Path, ...]
    changed: bool


def store(
    folder: Path, files: Mapping[str, bytes], ledger: Path | None, text: str, hold: Hold = nullcontext,
) -> Stored:
    """Put `files` (name -> content) into `folder` and `text` into the ledger. Raises OSError, and
    FileExistsError where the folder holds what no series made.

    Where folder and ledger are as they would become, nothing is touched. Nobody else may write either meanwhile
    (`locks`); `hold` is entered while they change.
    """
    placed = tuple(folder / name for name in files)
    folder, ledger = real(folder), ledger and real(ledger)
    check_free(folder, ledger)
    same = _holds(folder, files)
    ledger_same = ledger is None or (ledger.is_file() and ledger.read_bytes() == text.encode())
    if same and ledger_same:
        return Stored(placed, False)
    if not same:
        _check_ours(folder)
    part = _waiting_folder(folder)
    folders = (folder.parent, *([ledger.parent] if ledger else []))
    with noted(KIND, mend, folder, *([ledger] if ledger else []), folders=folders):
        if not same:
            _fill(part, files)
        with hold():
            if ledger is not None and not ledger_same:
                claim = f"{_CLAIM}{digest(files[INDEX])} {json.dumps(str(folder))}\n"
                write_whole(waiting_of(ledger), (claim + text).encode())
            if not same:
                _swap(part, folder)
            if ledger is not None:
                settle(ledger)
    return Stored(placed, True)


def check_free(folder: Path, ledger: Path | None) -> None:
    """Refuse a folder that cannot be replaced, and one that holds the ledger: OSError that says so."""
    folder = real(folder)
    if not folder.name:
        raise OSError(errno.EBUSY, "it cannot be replaced as a whole; name another folder with --out", str(folder))
    if ledger is not None and real(ledger).is_relative_to(folder):
        what = "it holds the ledger, and is replaced as a whole; keep the ledger elsewhere, or name another --out"
        raise FileExistsError(errno.EEXIST, what, str(folder))


def mend(paths: tuple[Path, ...]) -> bool:
    """Put right what a run that was broken off left of a folder and, where there is one, of its ledger; return
    whether it left anything. Raises OSError.
    """
    folder, *ledgers = map(real, paths)
    return any([restore(folder), *map(settle, ledgers)])


def settle(ledger: Path) -> bool:
    """Finish or forget what a run that was broken off left beside a ledger; return whether there was anything.

    Raises OSError.
    """
    ledger = real(ledger)
    waiting = waiting_of(ledger)
    for rest in (beside(waiting), beside(ledger)):
        rest.unlink(missing_ok=True)
    if not waiting.is_file():
        return False
    folder, index, text = _claimed(waiting)
    if folder is not None:
        restore(folder)
        listing = folder / INDEX
        if listing.is_file() and digest(listing.read_bytes()) == index:
            write_whole(ledger, text.encode())
    waiting.unlink()
    return True


def _claimed(waiting: Path) -> tuple[Path | None, str, str]:
    """The folder a waiting text belongs to, the digest of its index, and the text; no folder if none is said."""
    try:
        claim, _, text = waiting.read_text(encoding="utf-8").partition("\n")
        index, _, folder = claim.removeprefix(_CLAIM).partition(" ")
        return (Path(json.loads(folder)) if claim.startswith(_CLAIM) else None), index, text
    except (ValueError, TypeError):
        return None, "", ""


def restore(folder: Path) -> bool:
    """Put back the folder that a run broken off in the middle of a swap left aside, and clear what is left; return
    whether anything was. Raises OSError.
    """
    folder = real(folder)
    if not folder.name:
        return False
    aside, part = _aside(folder), _waiting_folder(folder)
    left = aside.exists() or part.exists()
    if aside.is_dir() and not folder.exists():
        aside.rename(folder)
    for rest in (aside, part):
        shutil.rmtree(rest, ignore_errors=True)
    return left


def waiting_of(ledger: Path) -> Path:
    """Where a ledger's next text waits."""
    return ledger.with_name(f".{ledger.name}.next")


def _waiting_folder(folder: Path) -> Path:
    return folder.with_name(f".{folder.name}.part")


def _aside(folder: Path) -> Path:
    return folder.with_name(f".{folder.name}.before")


def _holds(folder: Path, files: Mapping[str, bytes]) -> bool:
    """Whether a folder holds these files, as they are."""
    return all((folder / name).is_file() and (folder / name).read_bytes() == content
               for name, content in files.items())


def _listed(index: Path) -> set[str]:
    """The files that an index of ours names, and those every series has; none where it is not of our form."""
    try:
        text = io.StringIO(index.read_text(encoding="utf-8"), newline="")
        rows = list(csv.DictReader(text, strict=True))
    except (OSError, UnicodeDecodeError, csv.Error):
        return set()
    named = {INDEX, CONTACT}
    for row in rows:
        stem = f"{row.get('date')}-{row.get('slot')}"
        if tuple(row) != COLUMNS or not _STEM.fullmatch(stem):
            return set()
        named |= {f"{stem}.{ending}" for ending in _ENDINGS if row[ending] == f"{stem}.{ending}"}
    return named if rows else set()


def _check_ours(folder: Path) -> None:
    """Refuse to replace a folder that holds anything its own index does not name."""
    if not folder.exists():
        return
    if not folder.is_dir():
        raise FileExistsError(errno.EEXIST, "it is a file; a folder of that name is to be written", str(folder))
    ours = _listed(folder / INDEX)
    strange = sorted(entry.name for entry in folder.iterdir()
                     if entry.name not in ours or entry.is_symlink() or not entry.is_file())
    if strange:
        what = f"it holds what no series made ({', '.join(strange[:3])}); name another folder with --out"
        raise FileExistsError(errno.EEXIST, what, str(folder))


def _fill(part: Path, files: Mapping[str, bytes]) -> None:
    shutil.rmtree(part, ignore_errors=True)
    part.mkdir()
    for name, content in files.items():
        write_through(part / name, content)
    flush_folder(part)


def _swap(part: Path, folder: Path) -> None:
    """Put a finished folder in the place of the old one."""
    aside = _aside(folder)
    shutil.rmtree(aside, ignore_errors=True)
    if folder.exists():
        folder.rename(aside)
    part.rename(folder)
    flush_folder(folder.parent)
    shutil.rmtree(aside, ignore_errors=True)
