"""The pool: every puzzle of some files, each proved sound, rated, and its path proved; twins left out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cagework.typeset.book import Entry
from cagework.typeset.check import Checked, check_puzzles, why_not
from cagework.typeset.columns.issue import Proved
from cagework.typeset.faults import Fault, Severity, UnreadableManifest, fault_at, in_order
from cagework.typeset.manifest.load import load_book, twins
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.work import UnprovedError, prove


@dataclass(frozen=True, slots=True)
class Pool:
    """The puzzles to choose from, in the order of the files, and what is wrong; no puzzle stands for two."""

    puzzles: tuple[Proved, ...]
    faults: tuple[Fault, ...]

    @property
    def failed(self) -> bool:
        """Whether any fault is an error."""
        return any(fault.is_error for fault in self.faults)


def read_pool(files: Sequence[Path], seconds: float | None, tick: Callable[[], None] = lambda: None) -> Pool:
    """Read and prove the puzzles of some files, giving up on one after `seconds`; `tick` is called for each."""
    faults: list[Fault] = []
    readings: dict[tuple[Path, int, int], PuzzleReading] = {}
    for file in files:
        try:
            reading = load_book(file, puzzles_suffice=True, twins_are=Severity.WARNING)
        except UnreadableManifest as error:
            faults.append(error.fault)
            continue
        faults += [fault for fault in reading.faults if fault.is_error]
        for one in reading.puzzles:
            readings.setdefault((one.file.resolve(), one.place.line, one.place.column), one)
    faults += _clashes(readings.values())
    checked = tuple(check_puzzles(tuple(readings.values()), seconds, tick))
    faults += [fault for one in checked for fault in one.faults if fault.is_error]
    faults += [_unsound(one) for one in checked if not one.is_sound and one.reading.entry is not None]
    proved = tuple(_proved(checked, faults))
    repeated = {id(second): first for first, second, _ in twins(one.entry for one in proved)}
    faults += [
        fault_at(one.entry.place, f"puzzle '{one.entry.id}' is puzzle '{repeated[id(one.entry)].id}' again, turned, "
                 "mirrored or complemented: only the first is used", severity=Severity.WARNING)
        for one in proved if id(one.entry) in repeated
    ]
    return Pool(tuple(one for one in proved if id(one.entry) not in repeated), in_order(faults))


def _clashes(readings: Iterable[PuzzleReading]) -> Iterator[Fault]:
    """Puzzles of different files that go by one id: the index and the ledger could not tell them apart."""
    first: dict[str, Entry] = {}
    for one in readings:
        if one.entry is None:
            continue
        known = first.setdefault(one.entry.id.casefold(), one.entry)
        if known is not one.entry and known.place.file != one.entry.place.file:
            yield fault_at(one.place, f"the id '{one.entry.id}' is taken already ({known.place.file.name}, line "
                           f"{known.place.line})", "give each puzzle of the pool its own id")


def _unsound(checked: Checked) -> Fault:
    return fault_at(checked.reading.place, f"puzzle '{checked.reading.id}' is not sound: {why_not(checked)}",
                    "mend it, or take it out of the pool")


def _proved(checked: Sequence[Checked], faults: list[Fault]) -> Iterator[Proved]:
    """The sound puzzles with their grades. One whose path is not proved to its end is printed without a hint."""
    for one in checked:
        if one.worked is None or one.verdict is None or one.verdict.answer is None:
            continue
        if one.grade is None:
            faults.append(fault_at(one.reading.place, f"puzzle '{one.reading.id}' is left out: its grade was not "
                                   "found in the time allowed", "allow more with --seconds", Severity.WARNING))
            continue
        is_told = True
        try:
            prove(one.worked, one.verdict.answer)
        except UnprovedError as error:
            is_told = False
            faults.append(fault_at(one.reading.place, f"puzzle '{one.reading.id}' can carry no hint: {error}",
                                   severity=Severity.WARNING))
        entry = replace(one.worked.entry, grade=one.grade)
        yield Proved(entry, replace(one.worked, entry=entry), one.verdict.answer, is_told)
