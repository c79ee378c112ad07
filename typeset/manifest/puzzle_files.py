"""Files of puzzles: each puzzle read, and what is wrong between one and another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cagework.solver.symmetry import Motion, Relation
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.faults import Fault, Severity, UnreadableManifest, in_order, quoted
from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.manifest.nodes import KeyPath
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.plain import KEYS
from cagework.typeset.manifest.puzzle import PuzzleReading, read_puzzle
from cagework.typeset.manifest.reread import Reread
from cagework.typeset.manifest.twins import twins
from cagework.typeset.manifest.values import as_text

if TYPE_CHECKING:       # a file of puzzles makes no book
    from cagework.typeset.book import Book


@dataclass(frozen=True, slots=True)
class Draft:
    """A book to look at, not to print: puzzles with faults keep their places in it. `puzzles` are all of its
    puzzles, each by an id of its own.
    """

    book: Book
    puzzles: tuple[PuzzleReading, ...]


@dataclass(frozen=True, slots=True)
class Reading:
    """What came of reading a file. `book` is None where there is an error, and for a file of puzzles
    alone; `faults` are all of them, in order, each puzzle's own included. `folders` are those that hold what the
    manifest names: puzzles, a layout of its own, faces, a profile. `draft` is there, if it was asked for, where
    nothing but puzzles is at fault.
    """

    book: Book | None
    faults: tuple[Fault, ...]
    puzzles: tuple[PuzzleReading, ...]
    folders: frozenset[Path] = frozenset()
    draft: Draft | None = None

    def __repr__(self) -> str:
        return f"Reading({self.book!r}, {len(self.puzzles)} puzzles, {len(self.faults)} faults)"

    @property
    def failed(self) -> bool:
        """Whether any fault is an error."""
        return any(fault.is_error for fault in self.faults)


@dataclass(frozen=True, slots=True)
class Found:
    """A puzzle met on the way: its reading, and where its further faults go."""

    reading: PuzzleReading
    notes: Notes


def found_puzzle(
    document: YamlDocument, path: KeyPath, data: object, allow_uncaged: bool, reread: Reread,
    default_id: str | None = None,
) -> Found:
    """The puzzle at a key path, read or known from an earlier reading."""
    reading = reread.puzzle(document, path, (allow_uncaged, default_id),
                            lambda: read_puzzle(document, path, data, allow_uncaged, default_id))
    return Found(reading, Notes(document, path))


def read_puzzle_file(document: YamlDocument, allow_uncaged: bool, around: Notes, reread: Reread) -> list[Found]:
    """The puzzles of a file that has one, a list of them, or `puzzles:`; what is wrong around them goes
    to `around`. Raises UnreadableManifest for any other file.
    """
    data = document.data
    base: KeyPath = ()
    notes = Notes(document, faults=list(document.faults))
    if isinstance(data, dict) and "puzzles" in data:
        listed = isinstance(data["puzzles"], list)
        if not listed or len(data) > 1:
            from cagework.typeset.manifest.schema import PuzzleFile
            from cagework.typeset.manifest.violations import findings
            notes.add_findings(findings(PuzzleFile, data | {"puzzles": []} if listed else data))
        data, base = data["puzzles"] if listed else None, ("puzzles",)
    around.faults += notes.faults
    if isinstance(data, dict) and data.keys() & KEYS:
        return [found_puzzle(document, (), data, allow_uncaged, reread, document.file.stem)]
    if isinstance(data, list) and data:
        return [found_puzzle(document, (*base, index), item, allow_uncaged, reread)
                for index, item in enumerate(data)]
    if base and data is None:
        return []
    raise unreadable(document, "this file holds no puzzles" if data == [] else
                      "this file is neither a manifest nor a puzzle")


def find_puzzle(document: YamlDocument, name: str) -> tuple[KeyPath, dict[str, Any]] | None:
    """Where the puzzle of an id stands in a manifest or a file of puzzles, and its keys; None for no such id."""
    data = document.data
    if isinstance(data, dict) and "puzzles" not in data:
        return ((), data) if as_text(data.get("id", document.file.stem)) == name else None
    base: KeyPath = ("puzzles",) if isinstance(data, dict) else ()
    listed = data["puzzles"] if isinstance(data, dict) else data
    return next((((*base, index), one) for index, one in enumerate(listed if isinstance(listed, list) else [])
                 if isinstance(one, dict) and as_text(one.get("id")) == name), None)


def unreadable(document: YamlDocument, message: str) -> UnreadableManifest:
    """A document of another kind."""
    return UnreadableManifest(document.fault(
        document.spot(()), message, "a manifest starts with book:, a puzzle with id:, title: and its cages"))


def check_unique(found: list[Found], twins_are: Severity, reread: Reread) -> None:
    """No two ids that are one file name, and no two puzzles that are one."""
    first_by_id: dict[str, Found] = {}
    same_id: set[tuple[int, int]] = set()
    for one in found:
        name = one.reading.id
        if name is None:
            continue
        first = first_by_id.setdefault(name.casefold(), one)
        if first is one:
            continue
        same_id.add((id(first.reading.entry), id(one.reading.entry)))
        where = _where(first.reading, one.reading)
        if first.reading.id == name:
            message = f"the id {quoted(name)} is taken already ({where})"
            hint = f"give each puzzle its own id, such as {name}-2"
        else:
            other = quoted(str(first.reading.id))
            message = f"the id {quoted(name)} differs from {other} ({where}) only in capitals"
            hint = "ids become file names, and some file systems do not tell capitals apart"
        one.notes.add(one.notes.spot("id"), message, hint)
    by_entry = {id(one.reading.entry): one for one in found if one.reading.entry is not None}
    for earlier, entry, how in twins(
        (one.reading.entry for one in found if one.reading.entry is not None), reread.likeness,
    ):
        if (id(earlier), id(entry)) in same_id:
            continue
        one = by_entry[id(entry)]
        where = _where(by_entry[id(earlier)].reading, one.reading)
        moved = "" if how == Relation(Motion.NONE, False) else f", {how}"
        one.notes.add(one.notes.spot("id"), f"this puzzle is {quoted(earlier.id)} ({where}) again{moved}",
                      "take one of them out", twins_are)


def _where(there: PuzzleReading, here: PuzzleReading) -> str:
    """Where another puzzle stands, as seen from one."""
    file = "" if there.file == here.file else f"{there.file.name}, "
    return f"{file}line {there.place.line}"


def gather(around: Notes, found: list[Found]) -> Reading:
    """All faults in order, each puzzle with its own; no book yet."""
    puzzles = tuple(
        replace(one.reading, faults=in_order((*one.reading.faults, *one.notes.faults))) for one in found)
    return Reading(None, in_order((
        *around.faults, *(fault for puzzle in puzzles for fault in puzzle.faults))), puzzles)


def entries_of(readings: Iterable[PuzzleReading], default: Solutions) -> tuple[Entry, ...]:
    """The puzzles that could be read; `default` says how much of a solution is printed where a puzzle does not."""
    return tuple(
        replace(one.entry, solutions=one.solutions or default) for one in readings if one.entry is not None
    )
