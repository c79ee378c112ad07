"""Cages and runs by name: by their sums and, where another has the same, by the cell that carries it; runs by
their way, too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from types import MappingProxyType

from cagework.solver.crossing import is_across
from cagework.solver.model import Cage, Puzzle
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


class CageNames:
    """The templates that name the cages of a puzzle, or its runs; of any cages where there is no puzzle."""

    def __init__(self, puzzle: Puzzle | None = None) -> None:
        self._of_runs = puzzle is not None and puzzle.shape is not None
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

    def _way(self, cage: Cage) -> _Way:
        return is_across(cage.cells) if self._of_runs else None
