"""State and techniques -> the cheapest steps there are, without looking twice where nothing has changed.

Each technique keeps what it found by place; a place is looked at again when a cell that touches it changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class Watch:
    """What one technique has found so far, and how much of the log it has seen; `kind` is where it looks."""

    __slots__ = ("found", "kind", "seen", "technique")

    def __init__(self, technique: Technique, seen: int) -> None:
        self.technique = technique
        self.kind: int = technique.look.value
        self.seen = seen
        self.found: dict[int, list[Step]] = {}

    def copy(self) -> Watch:
        """Return one that goes on apart from this."""
        other = Watch(self.technique, self.seen)
        other.found = self.found.copy()
        return other


class Agenda:
    """Finds steps in one state as it changes.

    `seen` is how much of the state's log the techniques are known to have nothing for; -1 for none.
    """

    def __init__(self, state: State, techniques: Iterable[Technique], seen: int = -1) -> None:
        self.state = state
        self._touched: dict[tuple[int, int], int] = {}
        ordered = sorted(techniques, key=lambda technique: technique.cost)
        self.levels: list[list[Watch]] = [
            [Watch(technique, seen) for technique in same] for _, same in groupby(ordered, key=lambda t: t.cost)
        ]

    def copy(self, state: State) -> Agenda:
        """Return one that goes on apart from this, in a copy of its state."""
        other = Agenda(state, ())
        other.levels = [[watch.copy() for watch in level] for level in self.levels]
        return other

    def cheapest(self) -> list[Step]:
        """Return every step found at the lowest cost that has any; empty where no technique finds one."""
        steps: list[Step] = []
        now = len(self.state.log)
        self._touched.clear()
        for level in self.levels:
            for watch in level:
                if watch.seen != now:
                    self._look(watch, self._due(watch))
                if watch.found:
                    steps += self._live(watch)
            if steps:
                break
        return steps

    def everything(self) -> Iterator[Step]:
        """Return every step found, the cheapest first. What all looks take is spent at once, but a cost is looked
        at only when it is come to: until then the state must not change.
        """
        now = len(self.state.log)
        self._touched.clear()
        due = [[(watch, self._due(watch) if watch.seen != now else 0) for watch in level] for level in self.levels]
        return self._each(due)

    def _each(self, due: Iterable[Iterable[tuple[Watch, int]]]) -> Iterator[Step]:
        """The steps of every cost, of which these watches have to look at these places first."""
        for level in due:
            for watch, places in level:
                self._look(watch, places)
            for watch, _ in level:
                if watch.found:
                    yield from self._live(watch)

    def _due(self, watch: Watch) -> int:
        """The places to look at again, wherever something changed since; what that takes is spent."""
        technique, state = watch.technique, self.state
        since = watch.kind, watch.seen
        places = self._touched.get(since, -1)
        if places < 0:
            places = self._touched[since] = touched(state, technique.look, watch.seen)
        watch.seen = len(state.log)
        state.work.spend(places.bit_count() * technique.weight)
        return places

    def _look(self, watch: Watch, places: int) -> None:
        """Look again at these places."""
        technique, state, found = watch.technique, self.state, watch.found
        find = technique.find
        while places:
            low = places & -places
            places ^= low
            place = low.bit_length() - 1
            steps = list(find(state, place))
            if technique.many_cases:
                steps = [step for step in steps
                         if not technique.asks_too_much(state.frame, state.candidates, step)]
            if steps:
                found[place] = steps
            elif place in found:
                del found[place]

    def _live(self, watch: Watch) -> list[Step]:
        """The steps that would still change something; what they remove is brought up to date."""
        live: list[Step] = []
        for place, steps in list(watch.found.items()):
            kept = [step for step in steps if self.state.changes_by(step)]
            if len(kept) != len(steps):
                if kept:
                    watch.found[place] = kept
                else:
                    del watch.found[place]
            live += kept
        return live


def touched(state: State, look: Scope, since: int) -> int:
    """Return the places of a kind, as bits, that changed after log entry `since`; all of them for -1."""
    frame = state.frame
    if since < 0:
        return _everywhere(frame, state, look)
    log = state.log[since:]
    bits = 0
    if look is Scope.GRID:
        return 1
    if look is Scope.DIGIT:
        for _, gone in log:
            bits |= gone
        return bits
    if look in (Scope.CELL, Scope.RELATED):
        for cell, _ in log:
            bits |= 1 << cell
        return bits & (frame.related if look is Scope.RELATED else ~state.placed)
    table = _table(frame, look)
    if look in (Scope.HOUSE_FILLED, Scope.CAGE_FILLED):
        log = [(cell, gone) for cell, gone in log if not gone]
    for cell, _ in log:
        bits |= table[cell]
    if look is Scope.ALONE:
        return bits & state.alone
    if look is Scope.FEW:
        return bits & state.few
    if look is Scope.MANY:
        return bits & state.many
    return bits


def _table(frame: Frame, look: Scope) -> Sequence[int]:
    """For each cell, the places it touches."""
    if look in (Scope.HOUSE, Scope.HOUSE_FILLED):
        return frame.house_bits
    if look in (Scope.CAGE, Scope.CAGE_FILLED):
        return frame.cage_bits
    if look is Scope.NEAR_CAGE:
        return frame.near_bits
    if look is Scope.SUM:
        return frame.sum_bits
    if look is Scope.BETWEEN:
        return frame.between_bits
    return frame.group_bits if look is Scope.GROUP else frame.area_bits


def _everywhere(frame: Frame, state: State, look: Scope) -> int:
    """All places of a kind."""
    if look in (Scope.ALONE, Scope.FEW, Scope.MANY):
        return {Scope.ALONE: state.alone, Scope.FEW: state.few, Scope.MANY: state.many}[look]
    if look is Scope.RELATED:
        return frame.related
    counts = {
        Scope.CELL: len(frame.cells), Scope.HOUSE: len(frame.houses), Scope.CAGE: len(frame.cages),
        Scope.GROUP: len(frame.houses) + len(frame.cages),
        Scope.DIGIT: frame.size, Scope.GRID: 1,
        Scope.HOUSE_FILLED: len(frame.houses), Scope.CAGE_FILLED: len(frame.cages),
        Scope.NEAR_CAGE: len(frame.cages), Scope.SUM: len(frame.sums),
        Scope.BETWEEN: len(frame.puzzle.betweens),
    }
    return (1 << counts[look]) - 1
