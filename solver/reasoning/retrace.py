"""What happens on a way to the end -> the steps that it needs, each cell filled by what needs least besides."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.choose import placings
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.technique import FILLED, Scope, Technique
from cagework.solver.step import Step

_NEVER = 1 << 30


class Retracer:
    """Goes back over the events of a way: numbers of `steps`, or ~cell for one filled at a glance.

    `gone` says, for each cell and digit, at which event it went, `cleared` at which a cell was filled that does
    away with it, `filled` at which each cell was, and `open` which were not before each event; what `start`, the
    masks before the first event, lacks went before all. `loads` are the steps' and `answer` the filled grid.
    """

    def __init__(self, frame: Frame, steps: Mapping[int, Step], loads: Mapping[int, int], events: Sequence[int],
                 start: Sequence[int], answer: Sequence[int], techniques: Mapping[str, Technique]) -> None:
        self.frame, self.steps, self.loads, self.events, self.answer = frame, steps, loads, events, answer
        self.gone = [[_NEVER] * frame.size for _ in frame.cells]
        self.cleared = [[_NEVER if mask >> index & 1 else -1 for index in range(frame.size)] for mask in start]
        self.filled = [_NEVER if mask & mask - 1 else -1 for mask in start]
        self.needed: set[int] = set()
        self.singles = sorted([one for one in techniques.values() if one.single], key=lambda one: one.cost)
        self.open: list[int] = []
        left = set_of(cell for cell, at in enumerate(self.filled) if at == _NEVER)
        for at, event in enumerate(events):
            self.open.append(left)
            left &= ~self._happen(at, event)

    def _happen(self, at: int, event: int) -> int:
        """Note what an event does away with; return the cells that it fills, as bits."""
        frame = self.frame
        filled = placings(frame, event, self.steps, self.answer)
        for cell, bit in filled:
            self.needed.add(at)
            self.filled[cell] = min(self.filled[cell], at)
            own, index = self.cleared[cell], bit.bit_length() - 1
            for other in range(frame.size):
                if other != index and own[other] == _NEVER:
                    own[other] = at
            for peer in members(frame.sees[cell]):
                if self.cleared[peer][index] == _NEVER:
                    self.cleared[peer][index] = at
        if event >= 0:
            for name, mask in self.steps[event].removes:
                gone = self.gone[frame.index[name]]
                for index in members(mask):
                    if gone[index] == _NEVER:
                        gone[index] = at
        return set_of(cell for cell, _ in filled)

    def run(self) -> list[tuple[Step, int]]:
        """Return the steps in order, each with its event."""
        found = []
        for at in range(len(self.events) - 1, -1, -1):
            event = self.events[at]
            if at not in self.needed:
                continue
            if event >= 0:
                step = self.steps[event]
                if not step.is_trial:
                    wants = [(self.frame.index[cell], mask) for cell, mask in step.cites.eliminated]
                    self.needed.update(self._authors(wants, at) or ())
            else:
                step = self._seen(at, ~event)
            found.append((step, event))
        return found[::-1]

    def _seen(self, at: int, cell: int) -> Step:
        """Fill a cell by what needs the least load besides, of several the cheapest."""
        best: tuple[int, Technique, int, set[int]] | None = None
        open_ = self.open[at] & ~(1 << cell)
        for technique in self.singles:
            for place in self._places(technique.look, cell):
                if technique.look in FILLED and self._cells(technique.look, place) & open_:
                    continue
                needs = technique.needs(self.frame, place, cell, self.answer)
                if needs is None:
                    continue
                authors = self._authors(needs, at)
                if authors is not None:
                    load = sum([self.loads[self.events[author]] for author in authors])
                    if best is None or load < best[0]:
                        best = load, technique, place, authors
                    if not load:
                        break
            if best is not None and not best[0]:
                break
        assert best is not None, "what was seen is seen by one of the singles"
        _, technique, place, authors = best
        self.needed |= authors
        return technique.seen(self.frame, place, cell, self.answer)

    def _cells(self, look: Scope, place: int) -> int:
        """The cells of a house or cage."""
        sets = self.frame.house_sets if look is Scope.HOUSE_FILLED else self.frame.cage_sets
        return sets[place]

    def _places(self, look: Scope, cell: int) -> Iterable[int]:
        if look in (Scope.HOUSE, Scope.HOUSE_FILLED):
            return self.frame.houses_of[cell]
        return self.frame.cages_of[cell] if look is Scope.CAGE_FILLED else (cell,)

    def _authors(self, wants: Iterable[tuple[int, int]], at: int) -> set[int] | None:
        """The events not needed so far that did away with these digits before; None where not all are gone."""
        authors = set()
        for cell, mask in wants:
            cleared, gone = self.cleared[cell], self.gone[cell]
            while mask:
                bit = mask & -mask
                mask ^= bit
                index = bit.bit_length() - 1
                if cleared[index] < at:
                    continue
                author = gone[index]
                if author >= at:
                    return None
                if author not in self.needed:
                    authors.add(author)
        return authors
