"""`cagework build`: check every puzzle and write the book."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from typing import TYPE_CHECKING

from cagework.typeset.choices import SHEETS
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, add_out, book

if TYPE_CHECKING:
    from cagework.typeset.faults import Fault

_STAGES = 3
"""What a build does besides looking at puzzles: pages laid, pages drawn, files read back."""


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("manifest", metavar="BOOK.yaml", type=book,
                         help="the manifest of the book (what it is, and its puzzles), or its folder")
    add_out(command)
    command.add_argument("--press", action="store_true",
                         help="write a press file too: book-press.pdf, and cover.pdf if the manifest has a cover")
    command.add_argument("--booklet", action="store_true",
                         help="write booklet.pdf too, two pages to a side, to fold and staple")
    command.add_argument("--sheet", metavar="NAME", choices=tuple(SHEETS),
                         help=f"the booklet's paper: {', '.join(SHEETS)} (default: the smallest that fits)")
    command.add_argument("--json", action="store_true",
                         help="print how far the work is as data for other programs, a line of JSON each")
    add_budget(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read, build, and say what was written."""
    from cagework.typeset.build import build
    from cagework.typeset.commands.common import not_written, open_crew, report, to_mend
    from cagework.typeset.commands.terminal import progress, say_next
    from cagework.typeset.faults import NotBuilt, counted
    from cagework.typeset.last_build import keep
    from cagework.typeset.manifest.load import load_book
    tell, shown = (_tell, _steps) if parsed.json else (report, progress)
    reading = load_book(parsed.manifest)
    tell(reading.faults)
    if reading.book is None:
        return to_mend(reading.faults)
    try:
        puzzles = sum(1 for _ in reading.book.entries)
        with shown(puzzles + _STAGES) as tick, open_crew(parsed) as crew:
            remember = partial(keep, crew.cache.top, parsed.manifest, parsed.out) if crew.cache else None
            built = build(reading.book, reading, parsed.out, parsed.seconds, tick, press=parsed.press,
                          booklet=parsed.booklet, sheet=parsed.sheet, crew=crew,
                          hold=partial(parsed.interrupts.placing, "the book was written"),
                          remember=remember)
    except NotBuilt as error:
        tell(error.faults)
        status = to_mend(error.faults)
        if not parsed.json:
            say_next((("desk", parsed.manifest), "shows in the browser what is at fault, beside each puzzle"))
        return status
    except OSError as error:
        return not_written(error, parsed.out)
    tell(built.warnings)
    warnings = sum(not fault.is_error for fault in (*reading.faults, *built.warnings))
    said = (f"{parsed.out / 'book.pdf'}: {counted(built.pages, 'page')}, {counted(built.puzzles, 'puzzle')}, "
            f"{counted(warnings, 'warning')}, {counted(len(built.files), 'file')}, {built.seconds:.1f} seconds")
    if parsed.json:
        _event("built", said=said, notes=built.notes, files=[str(file) for file in built.files])
        return Exit.FINE
    print(said)
    for note in built.notes:
        print(note)
    say_next(*_next(parsed))
    return Exit.FINE


def _next(parsed: argparse.Namespace) -> Iterator[tuple[Sequence[object], str]]:
    """What an editor does with a book."""
    if not parsed.press:
        yield (*parsed.words, "--press"), "writes the file for a printer too"
    else:
        yield (("preflight", parsed.out / "book-press.pdf", "--against", parsed.manifest),
               "says later whether a file that came back is still this book")


def _event(kind: str, **data: object) -> None:
    import json

    print(json.dumps({"event": kind, **data}), flush=True)


def _tell(faults: Iterable[Fault]) -> None:
    """Faults as events."""
    from cagework.typeset.solving.check import fault_json
    for fault in faults:
        _event("fault", **fault_json(fault), source=fault.source, span=fault.span)


@contextmanager
def _steps(total: int | None) -> Iterator[Callable[[str], None]]:
    """Each finished piece of work as an event."""
    done = 0

    def tick(step: str) -> None:
        nonlocal done
        done += 1
        _event("step", step=step, done=done, of=total)

    yield tick
