"""Every puzzle of one reading after another, checked: only what has changed is solved or judged again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.solving.check import Checked, judged
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.record import Result

Progress = Callable[[int, int], None]
"""How many puzzles are solved, of how many that have to be."""


@dataclass(frozen=True, slots=True)
class _Known:
    """A puzzle as it was read last, with what was found of it."""

    checked: Checked
    result: Result


class KeptResults:
    """What was found of the puzzles of the last reading, by their ids.

    A puzzle that is equal keeps its result, whatever its title or its place; one that was read alike in every way
    keeps what was made of that too. For one thread at a time.
    """

    def __init__(self, crew: Crew, seconds: float | None) -> None:
        self._crew = crew
        self._seconds = seconds
        self._last: dict[str | None, _Known] = {}
        self.scores: dict[str, float] = {}

    def check(self, readings: Sequence[PuzzleReading], progress: Progress) -> tuple[Checked, ...]:
        """All puzzles of a reading, in its order."""
        results = [self._kept(one) for one in readings]
        new = [(number, one.entry.puzzle) for number, one in enumerate(readings)
               if one.entry is not None and results[number] is None]
        if new:
            progress(0, len(new))
        found = self._crew.find([puzzle for _, puzzle in new], self._seconds)
        for done, (place, result) in enumerate(found, 1):
            results[new[place][0]] = result
            progress(done, len(new))
        checked = tuple(map(self._judged, readings, results))
        self._last = {one.reading.id: _Known(one, result)
                      for one, result in zip(checked, results, strict=True) if result is not None}
        self.scores |= {one.reading.id: one.worked.rating.score
                        for one in checked if one.worked and one.reading.id}
        return checked

    def _kept(self, reading: PuzzleReading) -> Result | None:
        """The result of the same puzzle, if there is one."""
        known = self._last.get(reading.id)
        if known is None or reading.entry is None or known.checked.reading.entry is None:
            return None
        return known.result if known.checked.reading.entry.puzzle == reading.entry.puzzle else None

    def _judged(self, reading: PuzzleReading, result: Result | None) -> Checked:
        known = self._last.get(reading.id)
        if known is not None and known.result is result and known.checked.reading == reading:
            return known.checked
        return judged(reading, result)
