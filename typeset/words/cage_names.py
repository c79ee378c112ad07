"""Cages and runs by name: by their sums and, where another has the same, by the cell that carries it; runs by
their way, too, and blocks of them by the rows and columns they lie in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import NamedTuple

from cagework.solver.crossing import Run, is_across
from cagework.solver.model import Cage, Puzzle
from cagework.solver.step import Block
from cagework.typeset.words.phrases import (
    ACROSS,
    ACROSS_AMONG_SEVERAL,
    CAGE,
    CAGE_AMONG_SEVERAL,
    CAGE_WITHOUT_SUM,
    DOWN,
    DOWN_AMONG_SEVERAL,
    LONE_ACROSS,
    LONE_ACROSS_AMONG_SEVERAL,
    LONE_CAGE,
    LONE_CAGE_AMONG_SEVERAL,
    LONE_DOWN,
    LONE_DOWN_AMONG_SEVERAL,
    OF_RUNS,
)

_Way = bool | None
_NAMES: Mapping[tuple[_Way, bool, bool], str] = MappingProxyType({
    (None, False, False): CAGE, (None, False, True): CAGE_AMONG_SEVERAL,
    (None, True, False): LONE_CAGE, (None, True, True): LONE_CAGE_AMONG_SEVERAL,
    (True, False, False): ACROSS, (True, False, True): ACROSS_AMONG_SEVERAL,
    (True, True, False): LONE_ACROSS, (True, True, True): LONE_ACROSS_AMONG_SEVERAL,
    (False, False, False): DOWN, (False, False, True): DOWN_AMONG_SEVERAL,
    (False, True, False): LONE_DOWN, (False, True, True): LONE_DOWN_AMONG_SEVERAL,
})
"""Whether it is a run across, or down, or a cage; alone with its sum; among several -> its name."""


class Place(NamedTuple):
    """Part of a grid, with both ends: rows, and of these columns; the other way about for runs down."""

    lines: tuple[int, int]
    along: tuple[int, int]

    @classmethod
    def of(cls, run: Run) -> Place:
        """Where a run lies."""
        (row, col), (low, right) = run[0], run[-1]
        return cls((row, low), (col, right)) if is_across(run) else cls((col, right), (row, low))

    def spanning(self, other: Place) -> Place:
        """The least place that has both."""
        return Place((min(self.lines[0], other.lines[0]), max(self.lines[1], other.lines[1])),
                     (min(self.along[0], other.along[0]), max(self.along[1], other.along[1])))

    def has(self, other: Place) -> bool:
        """Whether the other lies in this one."""
        return self.spanning(other) == self


class CageNames:
    """The templates that name the cages of a puzzle, or its runs; of any cages where there is no puzzle."""

    def __init__(self, puzzle: Puzzle | None = None) -> None:
        self._of_runs = puzzle is not None and puzzle.shape is not None
        self._runs = tuple([cage.cells for cage in puzzle.cages]) if puzzle and self._of_runs else ()
        counts = Counter((self._way(cage), cage.total) for cage in (puzzle.cages if puzzle else ()))
        self._lone = frozenset(key for key, count in counts.items() if key[1] is not None and count == 1)

    def of(self, cage: Cage, *, among_several: bool = False) -> str:
        """The template of one name, with blanks for its sum and its first cell."""
        way = self._way(cage)
        if cage.total is None and not among_several:
            return CAGE_WITHOUT_SUM
        return _NAMES[way, (way, cage.total) in self._lone, among_several]

    def said(self, template: str) -> str:
        """A template of cages as it is said of this puzzle."""
        return OF_RUNS.get(template, template) if self._of_runs else template

    def places(self, block: Block) -> list[tuple[Place, bool]]:
        """Where the runs of a block lie, and all others of that way do not; and whether that is all of these rows,
        or columns.
        """
        level = is_across(block.runs[0].cells)
        all_runs = [Place.of(run) for run in self._runs if is_across(run) is level]
        own = sorted(Place.of(run.cells) for run in block.runs)
        others = [place for place in all_runs if place not in own]

        def grown(place: Place, further: Iterable[Place]) -> Place:
            for one in further:
                wider = place.spanning(one)
                if not any(wider.has(other) for other in others):
                    place = wider
            return place

        found: list[tuple[Place, bool]] = []
        while own:
            place = grown(own[0], own)
            own = [one for one in own if not place.has(one)]
            whole = not any(place.lines[0] <= other.lines[0] <= place.lines[1] for other in others)
            found.append((place, whole))
        return found

    def _way(self, cage: Cage) -> _Way:
        return is_across(cage.cells) if self._of_runs else None
