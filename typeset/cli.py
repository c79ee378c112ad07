"""The commands. A door: nothing imports it."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterable, Sequence
from enum import IntEnum
from pathlib import Path
from typing import NoReturn

from cagework.layouts.load import shelf_layout
from cagework.typeset.book import Stock
from cagework.typeset.booklet import SHEETS
from cagework.typeset.build import NotBuilt, build
from cagework.typeset.cache import Cache
from cagework.typeset.check import Checked, as_json, check_puzzles, fault_json, why_not
from cagework.typeset.columns.schema import SvgText, series_schema
from cagework.typeset.diagnose import Diagnosis, diagnose, picture, spare_lines
from cagework.typeset.faults import Fault, Severity, UnreadableManifest, counted, fault_at, or_else, render
from cagework.typeset.files import write_all
from cagework.typeset.manifest.load import Reading, load_book, twins
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.manifest.schema import schema
from cagework.typeset.options import port, positive, size, whole
from cagework.typeset.preflight.document import UnreadablePdf
from cagework.typeset.preflight.profile import Flavour, Profile
from cagework.typeset.preflight.report import table
from cagework.typeset.returned import look_into
from cagework.typeset.solving import Crew, collect_seldom, cores
from cagework.typeset.terminal import print_rows, progress
from cagework.typeset.text import Fonts
from cagework.typeset.words import technique_name
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.work import explained, work_out

_SECONDS = 60.0


class Exit(IntEnum):
    """What a command's exit status says."""

    FINE = 0
    FAULTS = 1        # a puzzle is not sound, the manifest has faults, or a press would refuse the PDF
    UNREADABLE = 2    # a file cannot be read as a manifest, or as a PDF
    NOT_WRITTEN = 3   # the book is fine, but its files could not be written
    USAGE = 64        # the command line itself is wrong
    INTERRUPTED = 130


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        print(f"cagework: {message}", file=sys.stderr)
        raise SystemExit(Exit.USAGE)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    parsed = parser().parse_args(arguments)
    collect_seldom()
    try:
        return int(parsed.run(parsed))
    except UnreadableManifest as error:
        print(render(error.fault), file=sys.stderr)
        return Exit.UNREADABLE
    except BrokenPipeError:    # whoever read our output has read enough, as `head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.FINE
    except KeyboardInterrupt:
        print("stopped; nothing was written", file=sys.stderr)
        return Exit.INTERRUPTED


def parser() -> argparse.ArgumentParser:
    """The command line, as `--help` prints it and as the README's table is held to."""
    top = _Parser(prog="cagework", description="Check cage-sum puzzles and print them as a book.")
    commands = top.add_subparsers(metavar="COMMAND", required=True, parser_class=_Parser)

    making = commands.add_parser("build", help="check every puzzle and write the book")
    making.add_argument("manifest", metavar="BOOK.yaml", type=Path)
    making.add_argument("--out", metavar="DIR", type=Path, default=Path("out"),
                        help="folder to write into (default: out)")
    making.add_argument("--press", action="store_true",
                        help="write a press file too: book-press.pdf, and cover.pdf if the manifest has a cover")
    making.add_argument("--booklet", action="store_true",
                        help="write booklet.pdf too, two pages to a side, to fold and staple")
    making.add_argument("--sheet", metavar="NAME", choices=tuple(SHEETS),
                        help=f"the booklet's paper: {', '.join(SHEETS)} (default: the smallest that fits)")
    _budget(making)
    _kept(making)
    making.set_defaults(run=_build)

    checking = commands.add_parser("check", help="check every puzzle and print a table")
    checking.add_argument("files", metavar="FILE", type=Path, nargs="+", help="a manifest or a file of puzzles")
    checking.add_argument("--json", action="store_true", help="print one JSON object instead")
    checking.add_argument("--why", action="store_true",
                          help="say why a puzzle is not sound, and which repairs were proved")
    checking.add_argument("--spare", action="store_true",
                          help="say which givens and sums a sound puzzle could do without")
    checking.add_argument("--pictures", metavar="DIR", type=Path,
                          help="write an SVG of the cells at issue for each unsound puzzle into DIR")
    _budget(checking)
    _kept(checking)
    checking.set_defaults(run=_check)

    explaining = commands.add_parser("explain", help="print a puzzle's worked solution, step by step")
    explaining.add_argument("file", metavar="FILE", type=Path, help="a manifest or a file of puzzles")
    explaining.add_argument("id", metavar="ID", help="the puzzle's id")
    explaining.add_argument("--json", action="store_true", help="print one JSON object instead")
    _budget(explaining)
    _kept(explaining)
    explaining.set_defaults(run=_explain)

    looking = commands.add_parser("preflight", help="say what a press would refuse in a PDF")
    looking.add_argument("file", metavar="FILE.pdf", type=Path, help="any PDF")
    looking.add_argument("--flavour", choices=list(Flavour), type=Flavour, default=Flavour.PRESS,
                         help="what the file is for (default: press)")
    looking.add_argument("--stock", choices=list(Stock), type=Stock, default=Stock.UNCOATED,
                         help="the paper it is to be printed on (default: uncoated)")
    looking.add_argument("--trim", metavar="WxH", type=size, help="the size every page must be cut to, in mm")
    looking.add_argument("--multiple", metavar="N", type=whole, default=0,
                         help="what the page count must be a multiple of")
    looking.add_argument("--safety", metavar="MM", type=positive,
                         help="how far inside the trim matter must stay, in mm (default: the stock's)")
    looking.add_argument("--gutter", metavar="MM", type=positive, default=0.0,
                         help="how much must stay clear at the spine, in mm")
    looking.add_argument("--against", metavar="BOOK.yaml", type=Path,
                         help="lay this book out again and say where the PDF differs from it")
    _budget(looking)
    _kept(looking)
    looking.add_argument("--json", action="store_true", help="print one JSON object instead")
    looking.set_defaults(run=_preflight)

    columns = commands.add_parser("columns", help="fit a series of puzzles into newspaper slots, date by date")
    columns.add_argument("manifest", metavar="SERIES.yaml", type=Path)
    columns.add_argument("--out", metavar="DIR", type=Path, default=Path("columns"),
                         help="folder to write into, of this series alone (default: columns)")
    columns.add_argument("--svg-text", choices=list(SvgText), type=SvgText,
                         help="words in SVG as outlines or as live text (default: as the manifest says)")
    _budget(columns)
    _kept(columns)
    columns.set_defaults(run=_columns)
    editing = commands.add_parser("desk", help="show the book in the browser, and each change as it is saved")
    editing.add_argument("manifest", metavar="BOOK.yaml", type=Path)
    editing.add_argument("--port", metavar="N", type=port, default=0,
                         help="port to serve at, on this machine alone (default: any free one)")
    editing.add_argument("--open", action="store_true", help="open the page in the browser at once")
    _budget(editing)
    _kept(editing)
    editing.set_defaults(run=_desk)

    describing = commands.add_parser("schema", help="print the manifest's JSON Schema")
    describing.add_argument("--series", action="store_true", help="a series manifest's instead of a book's")
    describing.set_defaults(run=_schema)
    return top


def _budget(command: argparse.ArgumentParser) -> None:
    command.add_argument("--seconds", metavar="N", type=positive, default=_SECONDS,
                         help=f"give up on a puzzle after N seconds (default: {_SECONDS:g})")


def _kept(command: argparse.ArgumentParser) -> None:
    command.add_argument("--cache", metavar="DIR", type=Path,
                         help="folder where what was found of each puzzle is kept (default: the user's own)")
    command.add_argument("--no-cache", action="store_true", help="solve every puzzle anew and keep nothing")


def _cache(parsed: argparse.Namespace) -> Cache | None:
    return None if parsed.no_cache else Cache(parsed.cache)


def _build(parsed: argparse.Namespace) -> Exit:
    reading = load_book(parsed.manifest)
    _report(reading.faults)
    if reading.book is None:
        errors = sum(fault.is_error for fault in reading.faults)
        print(f"nothing was written: {counted(errors, 'fault')} to mend", file=sys.stderr)
        return Exit.FAULTS
    try:
        puzzles = sum(1 for _ in reading.book.entries)
        with progress(puzzles + 2) as tick, Crew(_cache(parsed), cores()) as crew:
            built = build(reading.book, reading, parsed.out, parsed.seconds, tick, press=parsed.press,
                          booklet=parsed.booklet, sheet=parsed.sheet, crew=crew)
    except NotBuilt as error:
        _report(error.faults)
        print(f"nothing was written: {counted(len(error.faults), 'fault')} to mend", file=sys.stderr)
        return Exit.FAULTS
    except OSError as error:
        return _not_written(error, parsed.out)
    _report(built.warnings)
    warnings = sum(not fault.is_error for fault in (*reading.faults, *built.warnings))
    print(f"{parsed.out / 'book.pdf'}: {counted(built.pages, 'page')}, {counted(built.puzzles, 'puzzle')}, "
          f"{counted(warnings, 'warning')}, {counted(len(built.files), 'file')}, {built.seconds:.1f} seconds")
    for note in built.notes:
        print(note)
    return Exit.FINE


def _columns(parsed: argparse.Namespace) -> Exit:
    # As with `desk`: only this command needs them.
    from cagework.typeset.columns.load import load_series, with_text
    from cagework.typeset.columns.run import NotMade, make_columns
    reading = load_series(parsed.manifest)
    _report(reading.faults)
    try:
        if reading.series is None:
            raise NotMade(())
        with progress(None) as tick, Crew(_cache(parsed), cores()) as crew:
            made = make_columns(with_text(reading.series, parsed.svg_text), parsed.out, parsed.seconds,
                                lambda: tick("puzzles and slots"), crew)
    except NotMade as error:
        _report(error.faults)
        errors = sum(fault.is_error for fault in (*reading.faults, *error.faults))
        print(f"nothing was written: {counted(errors, 'fault')} to mend", file=sys.stderr)
        return Exit.FAULTS
    except OSError as error:
        return _not_written(error, parsed.out)
    _report(made.faults)
    done = "written" if made.stored.changed else "left as they stood"
    slots, files = len(reading.series.slots), len(made.stored.files)
    print(*made.notes, f"{parsed.out}: {counted(made.dates, 'date')}, {counted(slots, 'slot')}, "
          f"{counted(files, 'file')} {done}, {made.seconds:.1f} seconds", sep="\n")
    return Exit.FINE


def _check(parsed: argparse.Namespace) -> Exit:
    readings: list[Reading] = []
    unreadable: list[Fault] = []
    for file in parsed.files:
        try:
            readings.append(load_book(file, puzzles_suffice=True))
        except UnreadableManifest as error:
            unreadable.append(error.fault)
    puzzles: list[PuzzleReading] = [puzzle for reading in readings for puzzle in reading.puzzles]
    cache = _cache(parsed)
    with progress(sum(puzzle.entry is not None for puzzle in puzzles)) as tick, Crew(cache, cores()) as crew:
        checked = check_puzzles(puzzles, parsed.seconds, lambda: tick("checked"), crew)
    faults = [*unreadable, *(fault for reading in readings for fault in reading.faults), *_shared(readings)]
    faults += [fault for one in checked for fault in one.faults if fault not in one.reading.faults]
    found = [diagnose(one, cache) if parsed.why or parsed.pictures else None for one in checked]
    if parsed.pictures:
        try:
            _draw(found, parsed.pictures)
        except OSError as error:
            return _not_written(error, parsed.pictures)
    if parsed.json:
        own = {id(fault) for one in checked for fault in one.faults}
        rest = [fault_json(fault) for fault in faults if id(fault) not in own]
        said = [as_json(one) | ({"why": why.data} if why else {}) for one, why in zip(checked, found, strict=True)]
        print(json.dumps({"puzzles": said, "faults": rest}, ensure_ascii=False))
    else:
        _report(faults)
        if checked:
            _table(checked)
        for one, why in zip(checked, found, strict=True):
            _say(one, why if parsed.why else None, parsed.spare)
    if unreadable:
        return Exit.UNREADABLE
    sound = all(one.is_sound for one in checked)
    return Exit.FINE if sound and not any(fault.is_error for fault in faults) else Exit.FAULTS


def _shared(readings: Sequence[Reading]) -> list[Fault]:
    """Puzzles that stand in more than one of the files given; twins within a file are its own faults."""
    files = [[puzzle.entry for puzzle in reading.puzzles if puzzle.entry] for reading in readings]
    home = {id(entry): number for number, entries in enumerate(files) for entry in entries}
    return [
        fault_at(second.place, f"puzzle '{second.id}' is puzzle '{first.id}' of {first.place.file} again ({how})",
                 severity=Severity.WARNING)
        for first, second, how in twins(entry for entries in files for entry in entries)
        if home[id(first)] != home[id(second)]
    ]


def _say(one: Checked, why: Diagnosis | None, spare: bool) -> None:
    lines = why.lines if why else ()
    if spare and one.is_sound and one.reading.entry:
        lines = spare_lines(one.reading.entry)
    if lines:
        print(f"\n{one.reading.id}")
        for line in lines:
            print(f"  {line}")


def _draw(found: Sequence[Diagnosis | None], folder: Path) -> None:
    layout = shelf_layout("a5-one-up")
    fonts = Fonts(layout)
    write_all(folder, {
        Path(f"{one.entry.id}.svg"): picture(one, layout, fonts).encode() for one in found if one is not None
    })


def _not_written(error: OSError, out: Path) -> Exit:
    print(f"cannot write {error.filename or out}: {error.strerror or error}", file=sys.stderr)
    return Exit.NOT_WRITTEN


def _schema(parsed: argparse.Namespace) -> Exit:
    print(json.dumps(series_schema() if parsed.series else schema(), indent=2, ensure_ascii=False))
    return Exit.FINE


def _explain(parsed: argparse.Namespace) -> Exit:
    reading = load_book(parsed.file, puzzles_suffice=True)
    puzzle = next((one for one in reading.puzzles if one.id == parsed.id), None)
    if puzzle is None or puzzle.entry is None:
        _report(puzzle.faults if puzzle else reading.faults)
        known = [one.id for one in reading.puzzles if one.id]
        if puzzle is None:
            print(f"{parsed.file}: there is no puzzle '{parsed.id}'", file=sys.stderr)
            print(f"hint: {or_else(parsed.id, known)}", file=sys.stderr)
        return Exit.FAULTS
    with Crew(_cache(parsed)) as crew:
        (checked,) = check_puzzles([puzzle], parsed.seconds, crew=crew)
    worked = checked.worked or work_out(puzzle.entry, parsed.seconds)
    language = reading.book.language if reading.book else "en"
    said = explained(worked, Sentences(language))
    if parsed.json:
        print(json.dumps(said, ensure_ascii=False))
    else:
        for number, step in enumerate(said["steps"], 1):
            print(f"{number:4}. {step['text']}" + ("" if step["proved"] else "  [not proved]"))
        print(f"{worked.rating.grade}; {counted(worked.rating.steps, 'step')}; "
              f"hardest: {technique_name(worked.rating.technique)}; {worked.path.outcome}")
    return Exit.FINE if said["solved"] else Exit.FAULTS


def _preflight(parsed: argparse.Namespace) -> Exit:
    profile = Profile(parsed.flavour, parsed.stock, parsed.trim, parsed.multiple, parsed.safety, parsed.gutter)
    try:
        with Crew(_cache(parsed), cores()) as crew:
            found = look_into(parsed.file, profile, parsed.against, parsed.seconds, crew)
    except NotBuilt as error:
        _report(error.faults)
        print(f"{parsed.against}: no file can be held against a book with faults", file=sys.stderr)
        return Exit.FAULTS
    except (OSError, UnreadablePdf) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else error
        print(f"{parsed.file}: {said}", file=sys.stderr)
        return Exit.UNREADABLE
    if parsed.json:
        print(json.dumps(found.as_data(), ensure_ascii=False))
    else:
        if found.report.findings:
            print_rows(("rule", "name", "severity", "pages", "finding"), table(found.report), numbers=("rule",))
        for line in (*map(str, found.differences or ()), *found.summary()):
            print(line)
    return Exit.FINE if found.passes else Exit.FAULTS


def _desk(parsed: argparse.Namespace) -> Exit:
    # Only this command needs the server, which takes longer to load than all the rest.
    from cagework.typeset.desk.command import PortTaken, run_desk
    try:
        with Crew(_cache(parsed), cores(), keep=True) as crew:
            run_desk(parsed.manifest, crew, parsed.seconds, parsed.port, parsed.open)
    except PortTaken as error:
        print(error, file=sys.stderr)
        return Exit.USAGE
    return Exit.FINE


def _report(faults: Iterable[Fault]) -> None:
    for fault in faults:
        print(render(fault), file=sys.stderr)


def _table(checked: Iterable[Checked]) -> None:
    rows = []
    for one in checked:
        entry = one.reading.entry
        size, cages = (str(entry.puzzle.size), str(len(entry.puzzle.cages))) if entry else ("", "")
        rating = one.worked.rating if one.worked else None
        steps, hardest = (str(rating.steps), technique_name(rating.technique)) if rating else ("", "")
        rows.append((one.reading.id or "?", size, cages, one.outcome, one.grade or "", steps, hardest,
                     why_not(one)))
    print_rows(("puzzle", "size", "cages", "outcome", "grade", "steps", "hardest step", "why"), rows,
          numbers=("size", "cages", "steps"), stressed=lambda row: bool(row[-1]))


if __name__ == "__main__":
    sys.exit(main())
