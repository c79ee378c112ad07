"""Files on disk, all or none, and none left over from the time before.

Each file waits beside its place, and a journal in the folder lists them all. The moment the journal says that they
take their places is the switch: a run broken off before it is taken back, one broken off after it is completed, by
the next run into the folder or by the next command of any kind (`unfinished`). Where a file cannot take its place
the earlier ones, kept by a second name until all is done, have theirs again. A journal names files within its
folder alone, and of what it names only what bears the checksum it states is moved or taken away.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager, nullcontext, suppress
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from types import MappingProxyType

from cagework.typeset.host.disk import (
    beside,
    digest,
    flush_folder,
    real,
    take_away_empty,
    wanting_folders,
    write_through,
    write_whole,
)
from cagework.typeset.host.unfinished import noted

RECORD = Path("SHA256SUMS")
"""The list of what was written, with each file's checksum, as `sha256sum --check` reads it."""

JOURNAL = Path(".cagework-journal")
"""The file that says what is under way in a folder; it is there only while files are being written."""

KIND = "files"
"""What a note of an unfinished run into such a folder is called."""

_RECORDED = re.compile(r"([0-9a-f]{64})  (.+)")
_DIGEST = re.compile("[0-9a-f]{64}")

Proof = Callable[[Mapping[Path, Path]], None]
"""Looks at files that are complete but not yet in place, as name -> where they wait, and raises what is wrong."""

Hold = Callable[[], AbstractContextManager[None]]
"""Within it files take their places: what would stop the process waits until they have."""


@dataclass(frozen=True, slots=True)
class _Journal:
    """What is under way: files by name (within the folder), each with its checksum; those of them that were not
    there; files that go; folders made.

    While `placing` is False all of it is to be taken back, from then on to be completed.
    """

    files: Mapping[Path, str]
    new: frozenset[Path]
    leaving: Mapping[Path, str]
    made: tuple[Path, ...]
    placing: bool = False


def write_all(
    out: Path, files: Mapping[Path, bytes], proof: Proof = lambda _: None, hold: Hold = nullcontext,
    leaving: Mapping[Path, str] = MappingProxyType({}),
) -> tuple[Path, ...]:
    """Write all files under `out`, or none: each waits under a temporary name, flushed to disk, and only when all
    are there and `proof` has let them pass do they take their places. Then what is `leaving`, by name with its
    checksum, goes. Links are followed. Raises OSError, and what `proof` raises. Nobody else may write there
    meanwhile (`locks`).
    """
    return _put(out, files, leaving, proof, hold)


def replace_all(
    out: Path, files: Mapping[Path, bytes], proof: Proof = lambda _: None, hold: Hold = nullcontext,
) -> tuple[Path, ...]:
    """Write all files under `out`, or none, with a record of them; and take away what the last record names and
    this one does not, so that nothing of an earlier book is taken for this one's.

    A file that was changed since it was written stays, as do links, what is reached through them, and all that the
    record does not name. Returns where the files are, without the record.
    """
    settle(out)
    made = {str(name).casefold() for name in files}    # some file systems do not tell capitals apart
    leaving = {name: one for name, one in _recorded(out / RECORD).items() if str(name).casefold() not in made}
    record = "".join(f"{digest(files[name])}  {name.as_posix()}\n" for name in sorted(files))
    return _put(out, {**files, RECORD: record.encode()}, leaving, proof, hold)[:-1]


def mend(paths: tuple[Path, ...]) -> bool:
    """Settle the folder that a note of an unfinished run names."""
    return settle(paths[0])


def settle(out: Path) -> bool:
    """Complete or take back what a run that was broken off left under `out`; return whether it left anything.

    Raises OSError.
    """
    out = real(out)
    beside(out / JOURNAL).unlink(missing_ok=True)
    journal = _read(out / JOURNAL)
    if journal is not None and journal.placing:
        _complete(out, journal)
    elif journal is not None:
        _take_back(out, journal)
    return journal is not None


def _complete(out: Path, journal: _Journal) -> None:
    """Have all files take their places; where one cannot, take all back. Raises OSError."""
    try:
        _place(out, journal)
    except OSError:
        _note(out, replace(journal, placing=False))
        _take_back(out, journal)
        raise
    _clear(out, journal)


def _put(
    out: Path, files: Mapping[Path, bytes], leaving: Mapping[Path, str], proof: Proof, hold: Hold,
) -> tuple[Path, ...]:
    placed = tuple(out / name for name in files)
    out = real(out)
    settle(out)
    targets = {name: real(out / name) for name in files}
    _check_apart(targets)
    folders = (out, *(target.parent for target in targets.values()))
    made = tuple(folder for folder in wanting_folders(folders) if folder != out and folder.is_relative_to(out))
    journal = _Journal({name: digest(content) for name, content in files.items()},
                       frozenset(name for name, target in targets.items() if not target.exists()),
                       leaving, tuple(folder.relative_to(out) for folder in made))
    with noted(KIND, mend, out, folders=folders):
        _note(out, journal)
        for name, content in files.items():
            write_through(beside(targets[name]), content)
        for name, target in targets.items():
            if target.is_dir():
                raise IsADirectoryError(f"{out / name} is a folder; a file of that name is to be written")
        proof({name: beside(target) for name, target in targets.items()})
        with hold():
            for name in files.keys() - journal.new:
                _keep(targets[name])
            _note(out, replace(journal, placing=True))
            _complete(out, journal)
    return placed


def _check_apart(targets: Mapping[Path, Path]) -> None:
    """Raise FileExistsError where links lead two files to one place."""
    found: dict[Path, Path] = {}
    for name, target in targets.items():
        other = found.setdefault(target, name)
        if other != name:
            raise FileExistsError(f"{name} and {other} lead to one file, {target}; take the link away")


def _kept(target: Path) -> Path:
    """The second name of the file that was there before."""
    return target.with_name(f".{target.name.lstrip('.')}.before")


def _keep(target: Path) -> None:
    """Give what is there a second name; where the system has no such thing, it has none."""
    with suppress(OSError):
        _kept(target).unlink(missing_ok=True)
        _kept(target).hardlink_to(target)


def _place(out: Path, journal: _Journal) -> None:
    """Have the files that wait take their places; those that have stay there. Raises OSError."""
    folders: dict[Path, None] = {}
    for name, stated in journal.files.items():
        target = real(out / name)
        part = beside(target)
        if part.is_file() and digest(part.read_bytes()) == stated:
            part.replace(target)
            folders[target.parent] = None
    for folder in folders:
        flush_folder(folder)


def _clear(out: Path, journal: _Journal) -> None:
    """Take away what leaves, and the second names of what was there before."""
    for name, stated in journal.leaving.items():
        _take_away(out, name, stated)
    for name in journal.files:
        with suppress(OSError):
            _kept(real(out / name)).unlink(missing_ok=True)
    (out / JOURNAL).unlink(missing_ok=True)


def _take_back(out: Path, journal: _Journal) -> None:
    """Take away what waits, whole or not, and what took its place, and the folders made for it; what was there
    before has its place again.
    """
    for name, stated in journal.files.items():
        target = real(out / name)
        with suppress(OSError):
            if name in journal.new and not beside(target).exists():
                _take_away(target.parent, Path(target.name), stated)
            if _kept(target).exists():
                _kept(target).replace(target)           # does nothing where both are one file (POSIX rename)
                _kept(target).unlink(missing_ok=True)
            beside(target).unlink(missing_ok=True)
    take_away_empty(out / folder for folder in journal.made)
    (out / JOURNAL).unlink(missing_ok=True)


def _take_away(out: Path, name: Path, stated: str) -> None:
    """Take away a file of ours that nobody changed; nothing that is a link, or lies behind one that leads out."""
    path = out / name
    try:
        ours = not path.is_symlink() and real(path).is_relative_to(out) and path.is_file()
        if ours and digest(path.read_bytes()) == stated:
            path.unlink()
    except OSError:
        return    # it is gone already, or not ours to take


def _note(out: Path, journal: _Journal) -> None:
    told = {"placing": journal.placing,
            "files": [[name.as_posix(), stated] for name, stated in journal.files.items()],
            "new": sorted(name.as_posix() for name in journal.new),
            "leaving": [[name.as_posix(), stated] for name, stated in journal.leaving.items()],
            "made": [name.as_posix() for name in journal.made]}
    write_whole(out / JOURNAL, json.dumps(told, indent=0).encode())


def _read(path: Path) -> _Journal | None:
    """A journal; None where there is none, or what is there is none of ours."""
    try:
        told = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else None
        return None if told is None else _Journal(
            {_within(name): _checksum(stated) for name, stated in told["files"]},
            frozenset(map(_within, told["new"])),
            {_within(name): _checksum(stated) for name, stated in told["leaving"]},
            tuple(_within(name) for name in told["made"]), told["placing"] is True)
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _within(name: str) -> Path:
    """A name that cannot lead out of its folder but by links. Raises ValueError, TypeError."""
    found = PurePosixPath(name)
    if found.is_absolute() or ".." in found.parts or not found.parts or "\0" in name:
        raise ValueError(name)
    return Path(found)


def _checksum(text: str) -> str:
    if not _DIGEST.fullmatch(text):
        raise ValueError(text)
    return text


def recorded(out: Path) -> dict[str, str]:
    """What the last run wrote under `out`, by its record: name -> checksum."""
    return {name.as_posix(): stated for name, stated in _recorded(out / RECORD).items()}


def _recorded(record: Path) -> dict[Path, str]:
    """What a record says was written: name -> checksum; nothing that could lie outside its folder."""
    found = {}
    try:
        lines = record.read_text(encoding="utf-8").splitlines() if record.is_file() else []
    except (OSError, UnicodeDecodeError):
        return {}
    for line in lines:
        if match := _RECORDED.fullmatch(line):
            with suppress(ValueError):
                found[_within(match[2])] = match[1]
    return found
