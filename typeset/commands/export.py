"""`cagework export`: puzzles, answers, grades, paths and pictures in forms that other programs read."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, book, whole

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from cagework.typeset.solving.check import Checked

_WIDEST = 4096


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("file", metavar="FILE", type=book,
                         help="a book's manifest, its folder, or a file of puzzles")
    command.add_argument("--out", metavar="DIR", type=Path, default=Path("export"),
                         help="folder to write into (default: export)")
    command.add_argument("--png", metavar="PIXELS", type=_width,
                         help="draw each grid as a PNG file too, so many pixels wide")
    add_budget(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read, solve, and write all files or none."""
    from cagework.typeset.commands.common import not_written, open_crew, report, taken, to_mend
    from cagework.typeset.commands.terminal import progress, say_next
    from cagework.typeset.exports import export_of, files_of, to_export
    from cagework.typeset.faults import counted
    from cagework.typeset.host.files import replace_all
    from cagework.typeset.host.locks import TakenError, alone_at
    from cagework.typeset.manifest.load import load_book
    from cagework.typeset.solving.check import check_puzzles
    reading = load_book(parsed.file, puzzles_suffice=True)
    report(reading.faults)
    if reading.failed:
        return to_mend(reading.faults)
    puzzles = to_export(reading)
    out: Path = parsed.out
    try:
        with alone_at(out), progress(2 * len(puzzles) + 1) as tick, open_crew(parsed) as crew:
            checked = check_puzzles(puzzles, parsed.seconds, lambda: tick("checked"), crew, again=True)
            files = files_of(export_of(reading, checked), crew, parsed.png, tick)
            other = _another(out, files)
            if other is None:
                replace_all(out, files, hold=partial(parsed.interrupts.placing, "the files were written"))
    except TakenError:
        return taken(out)
    except OSError as error:
        return not_written(error, out)
    if other is not None:
        return _refused(out, other)
    known = set(reading.faults)
    report(fault for one in checked for fault in one.faults if fault not in known)
    unsound = _say_unsound(checked)
    bare = f", {unsound} of them without an answer" if unsound else ""
    print(f"{out}: {counted(len(checked), 'puzzle')}{bare}, {counted(len(files), 'file')}")
    if unsound:
        say_next((("check", "--why", parsed.file), "says why, and which repairs were proved"))
    failed = unsound or any(fault.is_error for one in checked for fault in one.faults)
    return Exit.FAULTS if failed else Exit.FINE


def _say_unsound(checked: Sequence[Checked]) -> int:
    """Name each puzzle that is handed on without an answer; how many they are."""
    from cagework.typeset.solving.check import why_not
    unsound = [one for one in checked if not one.is_sound]
    for one in unsound:
        print(f"'{one.reading.id}' is not sound, and is exported without an answer: {why_not(one)}",
              file=sys.stderr)
    return len(unsound)


def _another(out: Path, files: Mapping[Path, bytes]) -> Path | None:
    """A file there that no export wrote, and one would write over or take away."""
    from cagework.typeset.exports import PUZZLES
    from cagework.typeset.host.files import RECORD, recorded
    known = recorded(out)
    if known and PUZZLES.as_posix() not in known:
        return RECORD
    return next((name for name in files if (out / name).exists() and name.as_posix() not in known), None)


def _refused(out: Path, name: Path) -> Exit:
    print(f"{out / name} is no export's, and nothing was written: choose another --out", file=sys.stderr)
    return Exit.NOT_WRITTEN


def _width(text: str) -> int:
    """Pixels of a picture."""
    width = whole(text)
    if width > _WIDEST:
        raise argparse.ArgumentTypeError(f"{text} pixels are too many: up to {_WIDEST} are drawn")
    return width
