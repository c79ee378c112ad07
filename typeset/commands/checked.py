"""Puzzles of some files checked: read, solved, where asked diagnosed and drawn, and printed."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from cagework.solver.search.exact import Outcome
from cagework.typeset.commands.common import not_written, open_crew, report, taken
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import points, print_rows, progress, say_next
from cagework.typeset.faults import Fault, Severity, UnreadableManifest
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.manifest.load import Reading, load_book
from cagework.typeset.manifest.twins import twins
from cagework.typeset.solving.check import Checked, as_json, check_puzzles, fault_json, why_not
from cagework.typeset.words import technique_name

if TYPE_CHECKING:
    from cagework.typeset.host.files import Hold
    from cagework.typeset.solving.crew import Crew
    from cagework.typeset.solving.diagnose import Diagnosis


@dataclass(frozen=True, slots=True)
class _Outcome:
    """All that is to be said: puzzles in the order met, each with its diagnosis where one was asked for and the
    puzzle is not sound; and every fault.
    """

    checked: tuple[Checked, ...]
    diagnoses: tuple[Diagnosis | None, ...]
    faults: tuple[Fault, ...]

    @property
    def is_fine(self) -> bool:
        """Whether every puzzle is sound and nothing is amiss."""
        return all(one.is_sound for one in self.checked) and not any(fault.is_error for fault in self.faults)


def check(parsed: argparse.Namespace) -> Exit:
    """Read, solve, diagnose, and say what was found."""
    readings, unreadable = _read(parsed.files)
    with open_crew(parsed) as crew:
        checked = _check(parsed, readings, crew)
        found = _diagnosed(parsed, checked, crew)
    outcome = _Outcome(checked, found, (*unreadable, *_faults(readings, checked)))
    if parsed.pictures:
        try:
            _draw(found, parsed.pictures, partial(parsed.interrupts.placing, "the pictures were written"))
        except TakenError:
            return taken(parsed.pictures)
        except OSError as error:
            return not_written(error, parsed.pictures)
    if parsed.json:
        _print_json(outcome)
    else:
        _print_text(outcome, why=parsed.why, spare=parsed.spare)
        say_next(*_next(parsed, readings, outcome))
    if unreadable:
        return Exit.UNREADABLE
    return Exit.FINE if outcome.is_fine else Exit.FAULTS


def _read(files: Iterable[Path]) -> tuple[list[Reading], list[Fault]]:
    """What came of each file that can be read, and why the others cannot."""
    readings: list[Reading] = []
    unreadable: list[Fault] = []
    for file in files:
        try:
            readings.append(load_book(file, puzzles_suffice=True))
        except UnreadableManifest as error:
            unreadable.append(error.fault)
    return readings, unreadable


def _check(parsed: argparse.Namespace, readings: Iterable[Reading], crew: Crew) -> tuple[Checked, ...]:
    puzzles = [puzzle for reading in readings for puzzle in reading.puzzles]
    with progress(sum(puzzle.entry is not None for puzzle in puzzles)) as tick:
        return check_puzzles(puzzles, parsed.seconds, lambda: tick("checked"), crew)


def _diagnosed(
    parsed: argparse.Namespace, checked: Sequence[Checked], crew: Crew,
) -> tuple[Diagnosis | None, ...]:
    if not (parsed.why or parsed.pictures):
        return (None,) * len(checked)
    from cagework.typeset.solving.diagnose import diagnoses
    return diagnoses(checked, crew, parsed.seconds)


def _faults(readings: Sequence[Reading], checked: Iterable[Checked]) -> list[Fault]:
    """The files' faults, those between files, and those that solving brought to light."""
    faults = [fault for reading in readings for fault in reading.faults]
    faults += _shared(readings)
    said = set(faults)
    return faults + [fault for one in checked for fault in one.faults if fault not in said]


def _shared(readings: Sequence[Reading]) -> list[Fault]:
    """Puzzles that stand in more than one of the files given; twins within a file are its own faults."""
    files = [[puzzle.entry for puzzle in reading.puzzles if puzzle.entry] for reading in readings]
    home = {id(entry): number for number, entries in enumerate(files) for entry in entries}
    return [
        Fault(second.place, f"puzzle '{second.id}' is puzzle '{first.id}' of {first.place.file} again ({how})",
                 severity=Severity.WARNING)
        for first, second, how in twins(entry for entries in files for entry in entries)
        if home[id(first)] != home[id(second)]
    ]


def _draw(found: Iterable[Diagnosis | None], folder: Path, hold: Hold) -> None:
    from cagework.layouts.load import shelf_layout
    from cagework.typeset.host.files import write_all
    from cagework.typeset.text.fonts import Fonts
    from cagework.typeset.write.single import diagnosis_svg
    layout = shelf_layout("a5-one-up")
    fonts = Fonts(layout)
    files = {Path(f"{one.entry.id}.svg"): diagnosis_svg(one, layout, fonts).encode()
             for one in found if one is not None}
    with alone_at(folder):
        write_all(folder, files, hold=hold)


def _print_json(outcome: _Outcome) -> None:
    own = {id(fault) for one in outcome.checked for fault in one.faults}
    rest = [fault_json(fault) for fault in outcome.faults if id(fault) not in own]
    said = [as_json(one) | ({"why": why.data} if why else {})
            for one, why in zip(outcome.checked, outcome.diagnoses, strict=True)]
    print(json.dumps({"puzzles": said, "faults": rest}, ensure_ascii=False))


def _print_text(outcome: _Outcome, *, why: bool, spare: bool) -> None:
    report(outcome.faults)
    if outcome.checked:
        _print_table(outcome.checked)
    for one, found in zip(outcome.checked, outcome.diagnoses, strict=True):
        lines = found.lines if found and why else ()
        if spare and one.is_sound and one.reading.entry:
            from cagework.typeset.solving.diagnose import spare_lines
            lines = spare_lines(one.reading.entry)
        if lines:
            print(f"\n{one.reading.id}", *lines, sep="\n  ")


def _next(
    parsed: argparse.Namespace, readings: Sequence[Reading], outcome: _Outcome,
) -> Iterator[tuple[Sequence[object], str]]:
    """What an editor does after a check."""
    verdicts = [one.verdict.outcome for one in outcome.checked if one.verdict]
    if Outcome.UNDECIDED in verdicts:
        yield (*parsed.words, "--seconds", f"{10 * parsed.seconds:g}"), "allows each puzzle more time"
    if not parsed.why and {Outcome.NO_ANSWER, Outcome.TWO_ANSWERS} & set(verdicts):
        yield (*parsed.words, "--why"), "says why, and which changes were proved to mend it"
    if outcome.is_fine and len(readings) == 1:
        if readings[0].book:
            yield ("build", *parsed.files), "writes the book as a PDF"
        else:
            yield ("explain", *parsed.files, outcome.checked[0].reading.id), "tells how the first is solved"


def _print_table(checked: Iterable[Checked]) -> None:
    print_rows(("puzzle", "size", "cages", "outcome", "grade", "score", "path", "steps", "hardest step", "why"),
               [_row(one) for one in checked],
               numbers=("size", "cages", "score", "steps"), stressed=lambda row: bool(row[-1]))


def _row(one: Checked) -> tuple[str, ...]:
    entry = one.reading.entry
    size, cages = (entry.puzzle.extent, str(len(entry.puzzle.cages))) if entry else ("", "")
    rating = one.worked.rating if one.worked else None
    steps, hardest = (str(rating.steps), technique_name(rating.technique)) if rating else ("", "")
    score = points(one.score)
    near = f" (near {one.near})" if one.near else ""
    return (one.reading.id or "?", size, cages, one.outcome, f"{one.grade or ''}{near}", score, one.reach or "",
            steps, hardest, why_not(one))
