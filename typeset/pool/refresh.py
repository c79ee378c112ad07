"""The index brought up to date with its folder: what has changed read, what is new solved, what is gone forgotten.

All is put down as it comes to be known, so that a run which is killed is taken up by the next where it stopped.
Files are read while puzzles are solved, and at no time are more puzzles held than keep all who solve busy.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.resources import files
from itertools import count
from pathlib import Path

from cagework.solver.listed import ListedHouse
from cagework.solver.model import Puzzle
from cagework.solver.rule import Rule
from cagework.typeset.choices import Kind
from cagework.typeset.faults import Fault, NotBuilt, Severity, UnreadableManifest
from cagework.typeset.host.disk import digest, real
from cagework.typeset.manifest.document import YamlDocument, parse_document, read_raw, read_text, text_of
from cagework.typeset.manifest.own import FileKind, OwnPuzzles, read_own, uncaged_in
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.manifest.twins import key_of
from cagework.typeset.manifest.whole import matching_files
from cagework.typeset.pool.index import UNREADABLE, Index, StaleFile
from cagework.typeset.pool.printed import Printing, ledger_of, no_ledger, printed_by, put_printings
from cagework.typeset.solving.cache import code_version, hash_of, sources
from cagework.typeset.solving.check import INVALID, Checked, judged, why_not
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.record import Result

ENDINGS = (".yaml", ".yml")
"""Of the files that are looked into."""


@dataclass(frozen=True, slots=True)
class Refreshed:
    """What a refresh did: files read, puzzles solved or looked up among what is kept, files forgotten."""

    read: int
    solved: int
    gone: int


def refresh(
    index: Index, folder: Path, crew: Crew, seconds: float, tick: Callable[[], None] = lambda: None,
) -> Refreshed:
    """Bring the index up to date, giving up on a puzzle after `seconds`; `tick` is called after each. Raises
    UnreadableManifest where a folder cannot be listed: its files would be taken for gone.
    """
    gone = _looked_over(index, folder)
    read = solved = 0
    held: dict[int, tuple[int, int, PuzzleReading]] = {}

    def unsolved() -> Iterator[Puzzle]:
        nonlocal read
        at, numbers = "", count()
        while (file := index.next_stale(at, seconds)) is not None:
            at = file.path
            read += 1
            for file_id, number, reading in _unsolved(index, folder, file, seconds):
                if reading.entry is not None:
                    held[next(numbers)] = file_id, number, reading
                    yield reading.entry.puzzle

    for place, finding in crew.find(unsolved(), seconds):
        file_id, number, reading = held.pop(place)
        with index.change():
            _settle(index, file_id, number, judged(reading, finding), finding, seconds)
        solved += 1
        tick()
    return Refreshed(read, solved, gone)


def version() -> str:
    """Stands for all code that decides what an index holds: how files are read, puzzles solved, and this."""
    reading = hash_of((*sources(files("cagework.typeset.manifest")), *sources(files(__package__))))
    return f"{code_version()} {reading}"


def yaml_files(folder: Path) -> Iterator[Path]:
    """The YAML files of a folder and those below it, hidden ones left out, in the order of folders and names."""
    def refuse(error: OSError) -> None:
        fault = Fault(Path(error.filename), f"cannot be looked into: {error.strerror}")
        raise UnreadableManifest(fault) from error

    for home, below, names in os.walk(folder, onerror=refuse):
        below[:] = sorted(name for name in below if not name.startswith("."))
        yield from (Path(home, name) for name in sorted(names)
                    if not name.startswith(".") and name.lower().endswith(ENDINGS))


def _looked_over(index: Index, folder: Path) -> int:
    """Put down which files are there, with what content and on what terms; return how many are gone."""
    with index.change():
        index.begin_run(version())
        for file in yaml_files(folder):
            path = file.relative_to(folder).as_posix().encode(errors="backslashreplace").decode()
            try:
                raw = read_raw(file)
            except UnreadableManifest as error:
                index.note_file(path, f"! {error.fault.message}")
                continue
            if index.note_file(path, digest(raw)):
                index.note_patterns(path, _patterns(file, raw))
        gone = index.forget_gone()
        matched = (match for path, pattern in index.patterns()
                   for match in matching_files(pattern, folder / path)[0])
        here = folder.resolve()
        index.allow_uncaged({real.relative_to(here).as_posix() for match in matched
                             if (real := match.resolve()).is_relative_to(here)})
    return gone


def _patterns(file: Path, raw: bytes) -> tuple[str, ...]:
    if b"allow_uncaged" not in raw:     # most files; these are not parsed twice
        return ()
    try:
        return uncaged_in(parse_document(file, text_of(file, raw)))
    except UnreadableManifest:
        return ()


def _unsolved(
    index: Index, folder: Path, file: StaleFile, seconds: float,
) -> Iterator[tuple[int, int, PuzzleReading]]:
    """Read a file, put down what it holds if it has changed, and yield its puzzles that are still to be solved,
    with the file's number and their own.
    """
    try:
        document = parse_document(folder / file.path, read_text(folder / file.path))
        own = read_own(document, file.uncaged)
        printed, wrong = _printings(document, own.kind)
    except UnreadableManifest as error:
        with index.change():
            index.put_file(file, FileKind.LEDGER if _may_be_ledger(folder / file.path) else UNREADABLE)
            index.put_faults([error.fault], file.id, None)
        return
    if file.changed:
        with index.change():
            _put(index, file, own)
            index.put_faults(wrong, file.id, None)
            put_printings(index, printed, file.id)
            if own.kind is FileKind.SERIES:
                index.note_ledger(file.path, _outside(folder, ledger_of(document)))
    for place, number in index.unsolved(file.id, seconds).items():
        if place < len(own.puzzles) and own.puzzles[place].entry is not None:
            yield file.id, number, own.puzzles[place]


def _printings(document: YamlDocument, kind: FileKind) -> tuple[tuple[Printing, ...], tuple[Fault, ...]]:
    """What a ledger of the folder has, or what is wrong with it; a warning of a series that keeps none."""
    if kind is FileKind.SERIES and ledger_of(document) is None:
        return (), (no_ledger(document, Severity.WARNING),)
    try:
        return printed_by(document.file) if kind is FileKind.LEDGER else (), ()
    except NotBuilt as error:
        return (), error.faults


def _may_be_ledger(file: Path) -> bool:
    """Whether a file that cannot be read might be a ledger: what it printed is not known."""
    try:
        return re.search(rb"^used:", read_raw(file), re.MULTILINE) is not None
    except UnreadableManifest:
        return False


def _outside(folder: Path, ledger: Path | None) -> Path | None:
    """A ledger that the folder does not hold: one it does is a file of its own."""
    return None if ledger is None or real(ledger).is_relative_to(real(folder)) else real(ledger)


def _put(index: Index, file: StaleFile, own: OwnPuzzles) -> None:
    index.put_file(file, own.kind)
    index.put_faults(own.faults, file.id, None)
    for place, one in enumerate(own.puzzles):
        known = dict[str, object](name=one.id, line=one.place.line, col=one.place.column)
        if one.entry is None:
            known |= {"outcome": INVALID, "why": why_not(Checked(one, None, 0.0, None, one.faults))}
        else:
            puzzle = one.entry.puzzle
            caged = {cell for cage in puzzle.cages for cell in cage.cells}
            known |= {
                "title": one.entry.title, "by": one.entry.by, "folded": (one.entry.by or "").casefold(),
                "size": max(puzzle.rows, puzzle.columns), "extent": puzzle.extent, "cages": len(puzzle.cages),
                "uncaged": not caged.issuperset(puzzle.cells), "key": key_of(puzzle)}
        number = index.put("puzzle", file=file.id, place=place, **known)
        index.put_names("rule", number, rules_of(one))
        index.put_faults(one.faults, file.id, number)


def rules_of(reading: PuzzleReading) -> Iterator[str]:
    """What is out of the ordinary in a puzzle, by the words of a manifest: its rules, `houses` of its own,
    `regions` where they are not the usual boxes, its kind where it is not of cages alone.
    """
    if reading.entry is None:
        return
    yield from (_word(rule) for rule in reading.entry.rules)
    if reading.entry.puzzle.shape is not None:
        yield Kind.CROSSING_SUMS.value
    elif reading.entry.puzzle.own_regions or not reading.entry.puzzle.regions:
        yield "regions"


def _word(rule: Rule) -> str:
    return "houses" if isinstance(rule, ListedHouse) else type(rule).__module__.rpartition(".")[2]


def _settle(index: Index, file: int, number: int, checked: Checked, finding: Result, seconds: float) -> None:
    rating = checked.worked.rating if checked.worked else None
    steps = [stage.step for stage in checked.worked.path.stages] if checked.worked else []
    index.settle(
        number, outcome=checked.outcome, seconds=None if finding.is_final else seconds, grade=checked.grade,
        score=checked.score, near=checked.near, path=checked.reach, steps=rating and rating.steps,
        load=max((step.load for step in steps if not step.is_trial), default=None),
        hardest=rating and rating.technique, why=why_not(checked),
        fit=checked.is_sound and not any(fault.is_error for fault in checked.faults))
    index.put_names("idea", number, (step.technique for step in steps))
    known = set(checked.reading.faults)
    index.put_faults((fault for fault in checked.faults if fault not in known), file, number, solving=True)
