"""Files on disk, all or none, and none left over from the time before."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Mapping
from pathlib import Path, PurePosixPath

RECORD = Path("SHA256SUMS")
"""The list of what was written, with each file's checksum, as `sha256sum --check` reads it."""

_RECORDED = re.compile(r"([0-9a-f]{64})  (.+)")

Proof = Callable[[Mapping[Path, Path]], None]
"""Looks at files that are complete but not yet in place, as name -> where they wait, and raises what is wrong."""


def write_all(out: Path, files: Mapping[Path, bytes], proof: Proof = lambda _: None) -> tuple[Path, ...]:
    """Write all files under `out`, or none: each goes to a temporary name first, is flushed to disk, and only
    when all are there and `proof` has let them pass do they take their places. Raises OSError, and what `proof`
    raises.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for name, content in files.items():
            target = out / name
            target.parent.mkdir(parents=True, exist_ok=True)
            part = target.with_name(f".{target.name}.part")
            waiting.append((part, target))
            with part.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        for _, target in waiting:
            if target.is_dir():
                raise IsADirectoryError(f"{target} is a folder; a file of that name is to be written")
        proof({name: part for name, (part, _) in zip(files, waiting, strict=True)})
        for part, target in waiting:
            part.replace(target)
    except BaseException:
        for part, _ in waiting:
            part.unlink(missing_ok=True)
        raise
    return tuple(target for _, target in waiting)


def replace_all(out: Path, files: Mapping[Path, bytes], proof: Proof = lambda _: None) -> tuple[Path, ...]:
    """Write all files under `out`, or none, with a record of them; then take away what the last record names and
    this one does not, so that nothing of an earlier book is taken for this one's.

    A file that was changed since it was written stays, as does all that the record does not name. Returns where
    the files are, without the record.
    """
    earlier = _recorded(out / RECORD)
    record = "".join(f"{hashlib.sha256(files[name]).hexdigest()}  {name.as_posix()}\n" for name in sorted(files))
    written = write_all(out, {**files, RECORD: record.encode()}, proof)[:-1]
    made = {str(name).casefold() for name in files}    # some file systems do not tell capitals apart
    for name, digest in earlier.items():
        if str(name).casefold() not in made:
            _take_away(out / name, digest)
    return written


def _recorded(record: Path) -> dict[Path, str]:
    """What a record says was written: name -> checksum; nothing that could lie outside its folder."""
    try:
        lines = record.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return {}
    found = [match for line in lines if (match := _RECORDED.fullmatch(line))]
    names = [(PurePosixPath(match[2]), match[1]) for match in found]
    return {Path(name): digest for name, digest in names if not name.is_absolute() and ".." not in name.parts}


def _take_away(path: Path, digest: str) -> None:
    try:
        if not path.is_symlink() and hashlib.sha256(path.read_bytes()).hexdigest() == digest:
            path.unlink()
    except OSError:
        return    # it is gone already, or not ours to take
