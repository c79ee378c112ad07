"""What a series manifest says once read: the dates, the grades wanted, the slots, where puzzles come from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from cagework.layouts.column import ColumnSlot, Element
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.choices import Kind
from cagework.typeset.columns.schema import Fallback
from cagework.typeset.entry import Place, Written
from cagework.typeset.faults import listed


class Helping(NamedTuple):
    """The puzzles that a date's slots of one kind share: how many, and what they are; or those of one `slot`."""

    of: int
    kind: Kind
    slot: str = ""


def kind_of(puzzle: Puzzle) -> Kind:
    """What a puzzle is."""
    return Kind.CAGES if puzzle.shape is None else Kind.CROSSING_SUMS


def suits(puzzle: Puzzle, kind: Kind, sizes: Collection[int]) -> bool:
    """Whether a puzzle is of a kind and of one of some sizes: those of its larger side."""
    return kind_of(puzzle) is kind and max(puzzle.rows, puzzle.columns) in sizes


def grids_in_words(kind: Kind, sizes: Collection[int]) -> str:
    """Puzzles of a kind and of one of some sizes, as `suits` has them, for a message."""
    if kind is Kind.CAGES:
        return listed([f"{size} by {size}" for size in sizes])
    return f"crossing sums whose longer side is {listed(list(map(str, sizes)))}"


@dataclass(frozen=True, slots=True)
class SeriesSlot:
    """A slot of the series: its design, what its files are called, its language, its heading, the parts of its
    design that it does without, the kind of puzzle it takes, by weekday the grades of puzzles of its own, none
    where it shares the series', and its own words for grades, none where it has the language's.
    """

    design: ColumnSlot
    name: str
    language: str
    heading: str | None
    without: frozenset[Element]
    kind: Kind = Kind.CAGES
    days: Mapping[int, Grade] | None = None
    grade_words: Mapping[Grade, str] | None = None

    @property
    def helping(self) -> Helping:
        """Which puzzles of a date it shows."""
        return Helping(self.design.puzzles, self.kind, "" if self.days is None else self.name)

    def carries(self, part: Element) -> bool:
        """Whether a part is to be printed."""
        return part in self.design.parts and part not in self.without


@dataclass(frozen=True, slots=True)
class Day:
    """A date of publication, the number its puzzles carry, and the grade wanted."""

    date: dt.date
    number: int
    grade: Grade


@dataclass(frozen=True, slots=True)
class Series:
    """Everything a series' files are made from, but the puzzles themselves. `days` maps weekday (Monday 0) to
    the grade wanted; `written` has, by key, where a part of the manifest stands, slots as "slots.0".
    """

    file: Path
    id: str
    title: str
    language: str
    start: dt.date
    count: int
    days: Mapping[int, Grade]
    fallback: Fallback
    first_number: int
    ledger: Path | None
    live_text: bool
    pool: tuple[Path, ...]
    slots: tuple[SeriesSlot, ...]
    grade_words: Mapping[Grade, str] | None = None
    written: Mapping[str, Written] = field(default_factory=dict, compare=False, repr=False)

    def slot_place(self, slot: SeriesSlot) -> Place:
        """Where a slot of the series stands."""
        return self.written[f"slots.{self.slots.index(slot)}"].place()

    def dates(self) -> Iterator[Day]:
        """The dates of publication in order."""
        at, found = self.start, 0
        while found < self.count:
            if at.weekday() in self.days:
                yield Day(at, self.first_number + found, self.days[at.weekday()])
                found += 1
            at += dt.timedelta(days=1)

    @property
    def helpings(self) -> Mapping[Helping, tuple[int, ...]]:
        """The puzzles that a date's slots share -> the sizes of grid that all of those slots take.

        Slots of one puzzle of a kind all show the same puzzle on a date; so do slots of three. One with days of
        its own shares them with none.
        """
        found: dict[Helping, tuple[int, ...]] = {}
        for slot in self.slots:
            sizes = found.get(slot.helping, slot.design.sizes)
            found[slot.helping] = tuple(size for size in sizes if size in slot.design.sizes)
        return dict(sorted(found.items()))

    def grade(self, day: Day, helping: Helping) -> Grade:
        """The grade wanted of a date's puzzles."""
        own = next((slot.days for slot in self.slots if slot.helping == helping and slot.days), self.days)
        return own[day.date.weekday()]
