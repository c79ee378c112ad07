"""A path that goes to the end -> one of less load that does too.

What any reader sees at a glance is left to be seen. A step that leads is let go where the others, and what is
seen, still fill the grid: the most loaded are tried first. Of what is ready the least loaded is taken first, so
that much of the rest has nothing left to say. What this may cost is counted, in digits struck.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.glance import Grid
from cagework.solver.reasoning.technique import Technique
from cagework.solver.step import Step

_TRIAL = 1_000
"""What a trial weighs, in load: it comes last, and letting go of it is worth more than of any argument."""


_EACH = 8
"""What a lead taken costs besides, in strikes."""


@dataclass(slots=True)
class _Lead:
    """A step that is no single, by its number: the digits it wants gone and those it takes, each as (cell, mask),
    what it places as (cell, bit), and its load when it was first ready, or 0.
    """

    number: int
    step: Step
    wants: list[tuple[int, int]]
    takes: list[tuple[int, int]]
    places: list[tuple[int, int]]
    load: int = 0


@dataclass(slots=True)
class _Pick:
    """A lead in its place: the grid before it, and how many events there were."""

    lead: _Lead
    before: Grid
    events: int


@dataclass(slots=True)
class _Way:
    """A way to the end: the leads taken, and all that happens, as numbers of leads or ~cell for one seen."""

    picks: list[_Pick]
    events: list[int]


class Chooser:
    """Lets go of leads. `strikes` is what it may cost."""

    def __init__(self, frame: Frame, steps: Mapping[int, Step], techniques: Mapping[str, Technique], strikes: int,
                 ) -> None:
        self.frame, self.techniques, self.left = frame, techniques, strikes
        self.full = (1 << len(frame.cells)) - 1
        index = frame.index
        self.leads = [
            _Lead(number, step,
                  [] if step.is_trial else [(index[cell], mask) for cell, mask in step.cites.eliminated],
                  [(index[cell], mask) for cell, mask in step.removes],
                  [(index[cell], 1 << digit - 1) for cell, digit in step.places])
            for number, step in steps.items() if not techniques[step.technique].single
        ]

    def events(self, start: Grid) -> list[int] | None:
        """Return what happens on the lightest way found, in order: the number of a step, or ~cell for a cell that
        is seen. None where what is seen falls short of the singles that were taken.
        """
        way = self._way(start, self.leads)
        if way is None:
            return None
        spared: set[int] = set()
        while self.left > 0:
            place = self._heaviest(way, spared)
            if place < 0:
                break
            pick = way.picks[place]
            spared.add(pick.lead.number)
            rest = self._way(pick.before.copy(), [after.lead for after in way.picks[place + 1:]])
            if rest is not None:
                way = _Way(way.picks[:place] + [_Pick(one.lead, one.before, one.events + pick.events)
                                                for one in rest.picks],
                           way.events[:pick.events] + rest.events)
        return way.events

    def _heaviest(self, way: _Way, tried: set[int]) -> int:
        """The place of the most loaded lead not tried yet, of several the last; -1 where there is none."""
        best, place = 0, -1
        for number, pick in enumerate(way.picks):
            if pick.lead.load >= best and pick.lead.number not in tried:
                best, place = pick.lead.load, number
        return place

    def _way(self, grid: Grid, leads: Iterable[_Lead]) -> _Way | None:
        """Fill the grid by these leads, the least loaded that is ready first; None where they do not."""
        way = _Way([], grid.events)
        ready: list[tuple[int, int, _Lead]] = []
        waiting: dict[int, list[_Lead]] = {}
        for lead in leads:
            self._sort(lead, grid, ready, waiting)
        while True:
            grid.settle()
            if grid.placed == self.full:
                break
            for cell in dict.fromkeys(grid.changed):
                for lead in waiting.pop(cell, ()):
                    self._sort(lead, grid, ready, waiting)
            grid.changed.clear()
            while ready and not grid.changes_by(ready[0][2].takes, ready[0][2].places):
                heappop(ready)
            if not ready:
                break
            lead = heappop(ready)[2]
            way.picks.append(_Pick(lead, grid.copy(), len(grid.events)))
            grid.events.append(lead.number)
            for cell, bit in lead.places:
                if not grid.placed >> cell & 1:
                    grid.place(cell, bit)
            for cell, mask in lead.takes:
                grid.strike(cell, mask)
        self.left -= grid.strikes + _EACH * len(way.picks)
        return way if grid.placed == self.full else None

    def _sort(self, lead: _Lead, grid: Grid, ready: list[tuple[int, int, _Lead]],
              waiting: dict[int, list[_Lead]]) -> None:
        """Find a lead ready, or have it wait for a cell that still holds what it wants gone."""
        for cell, mask in lead.wants:
            if grid.masks[cell] & mask:
                waiting.setdefault(cell, []).append(lead)
                return
        if not lead.load:
            technique = self.techniques[lead.step.technique]
            lead.load = _TRIAL if lead.step.is_trial else technique.load(self.frame, grid.masks, lead.step)
        heappush(ready, (lead.load, lead.number, lead))


def placings(frame: Frame, event: int, steps: Mapping[int, Step], answer: Sequence[int]) -> list[tuple[int, int]]:
    """Return the cells that an event fills, each with its digit as a bit."""
    if event < 0:
        return [(~event, answer[~event])]
    return [(frame.index[cell], 1 << digit - 1) for cell, digit in steps[event].places]
