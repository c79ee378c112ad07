"""`cagework import`: puzzles of tables, texts and JSON to puzzle files."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Collection, Iterable, Mapping
from functools import partial
from pathlib import Path

from cagework.typeset.commands.exits import Exit

_ONE_FILE = (".yaml", ".yml")


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("files", metavar="FILE", type=Path, nargs="+",
                         help="a table (.csv, .tsv), a text with maps and sums, or JSON")
    command.add_argument("--out", metavar="PATH", type=Path, default=Path("puzzles"),
                         help="folder for a file of each puzzle, or one .yaml file for all (default: puzzles)")


def run(parsed: argparse.Namespace) -> Exit:
    """Read all files, say all that is wrong, and write all puzzles or none."""
    from cagework.typeset.commands.common import not_written, report, taken, to_mend
    from cagework.typeset.commands.terminal import say_next
    from cagework.typeset.faults import counted
    from cagework.typeset.host.files import write_all
    from cagework.typeset.host.locks import TakenError, alone_at
    from cagework.typeset.manifest.imported import read_imports
    found = read_imports(parsed.files)
    report((*found.unreadable, *found.faults))
    if found.failed:
        status = to_mend((*found.unreadable, *found.faults))
        return Exit.UNREADABLE if found.unreadable else status
    out: Path = parsed.out
    folder = out.parent if _is_one(out) else out
    files = _files(found.puzzles, out)
    try:
        with alone_at(folder):
            others = [folder / name for name, text in files.items()
                      if (folder / name).exists() and (folder / name).read_bytes() != text]
            if others:
                _tell_of(others, found.puzzles)
                return Exit.NOT_WRITTEN
            write_all(folder, files, hold=partial(parsed.interrupts.placing, "the puzzles were written"))
    except TakenError:
        return taken(folder)
    except OSError as error:
        return not_written(error, folder)
    print(f"{out}: {counted(len(found.puzzles), 'puzzle')}")
    check = ("check", folder / next(iter(files))) if len(files) == 1 else ("pool", folder, "--list")
    say_next((check, "says which have exactly one answer, and how hard they are"))
    return Exit.FINE


def _tell_of(others: Iterable[Path], puzzles: Collection[str]) -> None:
    """Say of each file that is there already why it was left alone: it has these puzzles otherwise, or others."""
    for file in others:
        if _ids_in(file) & set(puzzles):
            print(f"{file} was changed since it was imported, or what it was imported from was\n"
                  "hint: to have it as it is imported now, delete it first; to keep both, choose another --out",
                  file=sys.stderr)
        else:
            print(f"{file} holds something else\nhint: choose another --out", file=sys.stderr)
    print("nothing was written", file=sys.stderr)


def _ids_in(file: Path) -> set[str]:
    """The ids of the puzzles in a file; none where it cannot be read."""
    from cagework.typeset.faults import UnreadableManifest
    from cagework.typeset.manifest.load import load_book
    try:
        return {one.id for one in load_book(file, puzzles_suffice=True).puzzles if one.id}
    except UnreadableManifest:
        return set()


def _is_one(out: Path) -> bool:
    return out.suffix.lower() in _ONE_FILE


def _files(puzzles: Mapping[str, Mapping[str, object]], out: Path) -> dict[Path, bytes]:
    """The files by name: one for each puzzle, or one for all."""
    from cagework.typeset.manifest.emit import emitted, emitted_list
    if not _is_one(out):
        return {Path(f"{name}.yaml"): emitted(keys).encode() for name, keys in puzzles.items()}
    one, *others = puzzles.values()
    return {Path(out.name): (emitted_list(puzzles.values()) if others else emitted(one)).encode()}
