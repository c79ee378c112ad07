"""Files on disk, all or none."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path

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
