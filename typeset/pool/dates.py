"""What the dates of a series ask of a pick: so many puzzles of each grade, kind and sizes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from cagework.solver.reasoning.grade import Grade
from cagework.typeset.choices import Kind
from cagework.typeset.columns.load import read_dates
from cagework.typeset.columns.schedule import demands
from cagework.typeset.columns.series import grids_in_words
from cagework.typeset.faults import Fault
from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.pool.ask import Listed


@dataclass(frozen=True, slots=True, order=True)
class Lot:
    """Puzzles that serve the same dates: of a grade, a kind, and one of some sizes."""

    grade: Grade
    kind: Kind
    sizes: tuple[int, ...]

    def suits(self, one: Listed) -> bool:
        """Whether a puzzle is one of these."""
        crossing = Kind.CROSSING_SUMS in one.rules
        return (one.grade is self.grade and one.size in self.sizes
                and crossing is (self.kind is Kind.CROSSING_SUMS))

    def __str__(self) -> str:
        return f"{self.grade} of {grids_in_words(self.kind, self.sizes)}"


def lots_of(document: YamlDocument) -> tuple[Mapping[Lot, int], tuple[Fault, ...]]:
    """How many puzzles of each lot the series of a document wants; nothing, with its faults, where it has any."""
    reading = read_dates(document)
    if reading.series is None:
        return {}, reading.faults
    wanted = Counter(Lot(one.grade, one.helping.kind, one.sizes) for one in demands(reading.series))
    return dict(sorted(wanted.items())), ()
