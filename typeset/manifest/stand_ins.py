"""What stands for puzzles with faults in a draft of a book, so that each keeps its place there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from cagework.solver.model import BOXES, Puzzle, standard_houses
from cagework.typeset.book import Section
from cagework.typeset.entry import Entry, Place, Solutions
from cagework.typeset.faults import Fault, quoted
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.manifest.schema import SectionPart
from cagework.typeset.manifest.violations import salvage

_USUAL_SIZE = 9
"""Of a grid where no puzzle of the book can be read."""


def in_their_places(
    top: Notes, readings: Sequence[PuzzleReading], sections: Sequence[Section], written: object,
    faults: Sequence[Fault], files: Sequence[Path], default: Solutions, earlier: Mapping[str, Entry],
) -> tuple[tuple[PuzzleReading, ...], tuple[Section, ...]]:
    """All puzzles of a draft, each by an id of its own, and its sections with all of them in: a puzzle of which
    only a part could be read as far as it could, one of which nothing could as it was in an earlier reading, else
    as an empty grid of the usual size.

    `written` are the manifest's sections, `faults` those of files of puzzles and of how sections name them,
    `files` those that hold puzzles, in order; `default` says how much of a solution is printed, `earlier` are
    puzzles by their ids.
    """
    known = [*_apart(_blamed(top, readings, faults))]
    listed = written if isinstance(written, list) and written else None
    named = [_names(top, number, item) for number, item in enumerate(listed or ())]
    if listed is None:
        known += _of_lost_files(files, known, faults)
        known.sort(key=lambda one: files.index(one.file) if one.file in files else -1)
    else:
        known += _unknown(named, known, faults)
    size = _usual_size(known)
    known = [one if one.entry or one.rough else replace(one, rough=earlier.get(one.id or "") or _empty(one, size))
             for one in known]
    by_id = {one.id: one for one in reversed(known)}
    if listed is None:
        return tuple(known), (replace(sections[0], entries=_entries(known, default)),)
    left = set(by_id)
    filled = []
    for section, names, item in zip(sections, named, listed, strict=True):
        part = salvage(SectionPart, item if isinstance(item, dict) else {})
        mine = [by_id[name] for name in dict.fromkeys(name for name, _ in names) if name in left]
        left -= {one.id for one in mine}
        filled.append(replace(section, entries=_entries(mine, part.solutions or default)))
    return tuple(known), tuple(filled)


def _blamed(top: Notes, readings: Sequence[PuzzleReading], faults: Iterable[Fault]) -> Iterable[PuzzleReading]:
    """The puzzles, with what is wrong in their lines as YAML, such as a key that stands twice."""
    manifest, data = top.document.file, top.document.data
    below = sorted(top.line(top.spot(key, key=True)) for key in data) if isinstance(data, dict) else []
    ordered = sorted(readings, key=lambda one: (str(one.file), one.place.line))
    blamed: dict[int, tuple[Fault, ...]] = {}
    for fault in faults:
        above = [one for one in ordered if one.file == fault.file and one.place.line <= fault.line]
        if fault.is_error and above and not (fault.file == manifest and any(
                above[-1].place.line < line <= fault.line for line in below)):
            blamed[id(above[-1])] = (*blamed.get(id(above[-1]), ()), fault)
    for one in readings:
        own = blamed.get(id(one), ())
        yield replace(one, entry=None, rough=one.entry or one.rough, faults=(*one.faults, *own)) if own else one


def _entries(readings: Iterable[PuzzleReading], default: Solutions) -> tuple[Entry, ...]:
    return tuple(replace(entry, solutions=one.solutions or default)
                 for one in readings if (entry := one.entry or one.rough))


def _apart(readings: Iterable[PuzzleReading]) -> Iterable[PuzzleReading]:
    """The puzzles, those without an id, or with that of another, by where they stand."""
    taken: set[str] = set()
    for one in readings:
        name = one.id or ""
        if not name or name.casefold() in taken:
            name = f"{one.place.file.name}:{one.place.line}"
        taken.add(name.casefold())
        yield one if name == one.id else replace(
            one, id=name, entry=one.entry and replace(one.entry, id=name),
            rough=one.rough and replace(one.rough, id=name))


def _names(top: Notes, number: int, item: object) -> list[tuple[str, Fault]]:
    """The puzzles that a section names, and what is said of one that is not there."""
    part = salvage(SectionPart, item if isinstance(item, dict) else {})
    return [(name, top.document.fault(top.spot("sections", number, "puzzles", index),
                                      f"there is no puzzle {quoted(name)}", ""))
            for index, name in enumerate(part.puzzles or ())]


def _unknown(
    named: Iterable[Iterable[tuple[str, Fault]]], known: Iterable[PuzzleReading], faults: Iterable[Fault],
) -> Iterable[PuzzleReading]:
    """The puzzles that sections name and that are not there, nor in any file that could be read: in the file of
    that name which could not, or in the only one.
    """
    ids = {one.id for one in known}
    lost = [fault for fault in faults if fault.is_error]
    for name, missing in dict(pair for names in named for pair in names if pair[0] not in ids).items():
        said = [fault for fault in lost if fault.where == missing.where or fault.file.stem == name]
        others = [fault for fault in lost if fault.file != missing.file]
        fault = said[0] if said else others[0] if len(others) == 1 else missing
        yield _nothing(name, fault)


def _of_lost_files(
    files: Iterable[Path], known: Iterable[PuzzleReading], faults: Iterable[Fault],
) -> Iterable[PuzzleReading]:
    """A puzzle for each file that could not be read, called after it."""
    read, ids = {one.file for one in known}, {one.id for one in known}
    found = {fault.file: fault for fault in faults}
    for file in files:
        if file not in read and file in found:
            yield _nothing(file.stem if file.stem not in ids else file.name, found[file])


def _nothing(name: str, fault: Fault) -> PuzzleReading:
    place = fault.where if isinstance(fault.where, Place) else Place(fault.where, 1, 1)
    return PuzzleReading(name, place.file, place, None, (fault,))


def _usual_size(readings: Iterable[PuzzleReading]) -> int:
    sizes = Counter(entry.puzzle.size for one in readings
                    if (entry := one.entry or one.rough) and entry.puzzle.shape is None)
    return sizes.most_common(1)[0][0] if sizes else _USUAL_SIZE


def _empty(one: PuzzleReading, size: int) -> Entry:
    """An empty grid, with the id for a title."""
    houses = standard_houses(size, None if size in BOXES else ())
    return Entry(one.id or "", one.id, None, None, None, Puzzle(size, houses, ()), (), one.place)
