"""`cagework build`: check every puzzle and write the book."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

from cagework.typeset.choices import SHEETS
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("manifest", metavar="BOOK.yaml", type=Path)
    command.add_argument("--out", metavar="DIR", type=Path, default=Path("out"),
                         help="folder to write into (default: out)")
    command.add_argument("--press", action="store_true",
                         help="write a press file too: book-press.pdf, and cover.pdf if the manifest has a cover")
    command.add_argument("--booklet", action="store_true",
                         help="write booklet.pdf too, two pages to a side, to fold and staple")
    command.add_argument("--sheet", metavar="NAME", choices=tuple(SHEETS),
                         help=f"the booklet's paper: {', '.join(SHEETS)} (default: the smallest that fits)")
    add_budget(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read, build, and say what was written."""
    from cagework.typeset.build import build
    from cagework.typeset.commands.common import not_written, open_crew, report, to_mend
    from cagework.typeset.commands.terminal import progress
    from cagework.typeset.faults import NotBuilt, counted
    from cagework.typeset.manifest.load import load_book
    reading = load_book(parsed.manifest)
    report(reading.faults)
    if reading.book is None:
        return to_mend(reading.faults)
    try:
        puzzles = sum(1 for _ in reading.book.entries)
        with progress(puzzles + 2) as tick, open_crew(parsed) as crew:
            built = build(reading.book, reading, parsed.out, parsed.seconds, tick, press=parsed.press,
                          booklet=parsed.booklet, sheet=parsed.sheet, crew=crew,
                          hold=partial(parsed.interrupts.placing, "the book was written"))
    except NotBuilt as error:
        report(error.faults)
        return to_mend(error.faults)
    except OSError as error:
        return not_written(error, parsed.out)
    report(built.warnings)
    warnings = sum(not fault.is_error for fault in (*reading.faults, *built.warnings))
    print(f"{parsed.out / 'book.pdf'}: {counted(built.pages, 'page')}, {counted(built.puzzles, 'puzzle')}, "
          f"{counted(warnings, 'warning')}, {counted(len(built.files), 'file')}, {built.seconds:.1f} seconds")
    for note in built.notes:
        print(note)
    return Exit.FINE
