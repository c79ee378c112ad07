"""The pool: the puzzles of some files, to be chosen from by grade, and proved once they are chosen.

A grade that a manifest states is believed while dates are filled and put to the proof before anything is drawn;
a puzzle without one is solved first, for its grade.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cagework.typeset.columns.issue import ProvedPuzzle
from cagework.typeset.columns.series import Helping, suits
from cagework.typeset.entry import Entry
from cagework.typeset.faults import Fault, Severity, UnreadableManifest, in_order
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.manifest.twins import twins
from cagework.typeset.solving.check import Checked, check_puzzles, why_not
from cagework.typeset.solving.crew import Crew

Tick = Callable[[], None]


@dataclass(frozen=True, slots=True)
class Pool:
    """The puzzles to choose from, in the order of the files, none of them another turned, mirrored or
    complemented, each with a grade; how each was read, by id; and what is wrong.
    """

    entries: tuple[Entry, ...]
    readings: Mapping[str, PuzzleReading]
    faults: tuple[Fault, ...]

    @property
    def failed(self) -> bool:
        """Whether any fault is an error."""
        return any(fault.is_error for fault in self.faults)


@dataclass(frozen=True, slots=True)
class Proofs:
    """Puzzles fit for print, by id, and what is wrong with others."""

    puzzles: Mapping[str, ProvedPuzzle]
    faults: tuple[Fault, ...]


def read_pool(
    files: Sequence[Path], helpings: Mapping[Helping, Collection[int]], seconds: float | None, tick: Tick,
    crew: Crew | None,
) -> Pool:
    """Read the puzzles of some files that suit a helping, which has sizes; those without a grade are solved for
    it.
    """
    faults: list[Fault] = []
    spots: dict[tuple[Path, int, int], PuzzleReading] = {}
    for file in files:
        try:
            reading = load_book(file, puzzles_suffice=True, twins_are=Severity.WARNING)
        except UnreadableManifest as error:
            faults.append(error.fault)
            continue
        faults += [fault for fault in reading.faults if fault.is_error]
        for one in reading.puzzles:
            spots.setdefault((one.file.resolve(), one.place.line, one.place.column), one)
    fitting = [one for one in spots.values() if one.entry is not None and any(
        suits(one.entry.puzzle, helping.kind, sizes) for helping, sizes in helpings.items())]
    faults += _clashes(fitting)
    readings = {one.entry.id: one for one in fitting if one.entry is not None}
    entries = [one.entry for one in readings.values() if one.entry is not None]
    repeated = set()
    for first, second, how in twins(entries):
        repeated.add(second.id)
        faults.append(Fault(second.place, f"puzzle '{second.id}' is puzzle '{first.id}' ({how}): only the "
                               "first is used", severity=Severity.WARNING))
    kept = [readings[entry.id] for entry in entries if entry.id not in repeated]
    ungraded = [one for one in kept if one.entry is not None and one.entry.grade is None]
    checked = {one.reading.id: one for one in check_puzzles(ungraded, seconds, tick, crew)}
    graded = _graded(kept, checked, faults)
    return Pool(tuple(graded), readings, in_order(faults))


def prove_puzzles(
    pool: Pool, chosen: Sequence[Entry], seconds: float | None, tick: Tick, crew: Crew | None,
) -> Proofs:
    """Solve, rate and prove the puzzles chosen, giving up on one after `seconds`."""
    checked = check_puzzles([pool.readings[entry.id] for entry in chosen], seconds, tick, crew,
                            again=True)
    faults = [fault for one in checked for fault in one.faults if fault.is_error]
    faults += [_unsound(one) for one in checked if not one.is_sound]
    puzzles = {one.entry.id: one for one in _proved(checked, chosen, faults)}
    return Proofs(puzzles, in_order(faults))


def _graded(
    readings: Sequence[PuzzleReading], checked: Mapping[str | None, Checked], faults: list[Fault],
) -> Iterator[Entry]:
    """The puzzles with their grades: as stated, or as the path earns."""
    for one in readings:
        if one.entry is None:
            continue
        found = checked.get(one.id)
        if found is None:
            yield one.entry
        elif not found.is_sound:
            faults.append(_unsound(found))
        elif found.grade is None:
            faults.append(Fault(
                one.place, f"puzzle '{one.id}' is left out: its grade was not found in the time allowed",
                "allow more with --seconds, or state its grade", Severity.WARNING))
        else:
            yield replace(one.entry, grade=found.grade)


def _clashes(readings: Iterable[PuzzleReading]) -> Iterator[Fault]:
    """Puzzles of different files that go by one id: the index and the ledger could not tell them apart."""
    first: dict[str, Entry] = {}
    for one in readings:
        if one.entry is None:
            continue
        known = first.setdefault(one.entry.id.casefold(), one.entry)
        if known is not one.entry and known.place.file != one.entry.place.file:
            yield Fault(one.place, f"the id '{one.entry.id}' is taken already ({known.place.file.name}, line "
                           f"{known.place.line})", "give each puzzle of the pool its own id")


def _unsound(checked: Checked) -> Fault:
    return Fault(checked.reading.place, f"puzzle '{checked.reading.id}' is not sound: {why_not(checked)}",
                    "mend it, or take it out of the pool")


def _proved(checked: Sequence[Checked], chosen: Sequence[Entry], faults: list[Fault]) -> Iterator[ProvedPuzzle]:
    """The sound puzzles. Where a step that could be printed is not proved, or the path ends in another grid than
    the solver's, that is a fault.
    """
    for one, entry in zip(checked, chosen, strict=True):
        if one.worked is None or one.verdict is None or one.verdict.answer is None:
            continue
        rated = replace(entry, grade=one.grade or entry.grade)
        proved = ProvedPuzzle(rated, replace(one.worked, entry=rated), one.verdict.answer)
        if wrong := proved.untold():
            faults.append(Fault(one.reading.place, f"puzzle '{one.reading.id}': {wrong}",
                                   "take it out of the pool"))
        yield proved
