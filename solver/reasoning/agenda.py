"""State and techniques -> the cheapest steps there are, without looking twice where nothing has changed.

Each technique keeps what it found by place; a place is looked at again when a cell that touches it changes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import FILLED, Scope, Technique
from cagework.solver.step import Step


class Watch:
    """What one technique has found so far, and how much of the log it has seen; `kind` is where it looks. `table`
    are the places that each cell touches, where it goes by cells, and `within` those where it can find anything.
    """

    __slots__ = ("found", "kind", "seen", "table", "technique", "within")

    def __init__(self, technique: Technique, seen: int, frame: Frame) -> None:
        self.technique, self.seen = technique, seen
        self.kind: int = technique.look.value
        self.found: dict[int, list[Step]] = {}
        self.table = _table(frame, technique.look)
        self.within = technique.within(frame)

    def copy(self) -> Watch:
        """Return one that goes on apart from this."""
        other = object.__new__(Watch)
        other.technique, other.kind = self.technique, self.kind
        other.seen, other.found = self.seen, self.found.copy()
        other.table, other.within = self.table, self.within
        return other


class Changes(NamedTuple):
    """What happened since some entry of a log: cells that lost digits or were filled, those filled, the digits
    that went somewhere.
    """

    cells: Collection[int]
    filled: Collection[int]
    digits: int


class Agenda:
    """Finds steps in one state as it changes.

    `seen` is how much of the state's log the techniques are known to have nothing for; -1 for none.
    """

    def __init__(self, state: State, techniques: Iterable[Technique], seen: int = -1) -> None:
        self.state = state
        self._touched: dict[tuple[int, int], int] = {}
        self._changes: dict[int, Changes] = {}
        ordered = sorted([one for one in techniques if _is_anywhere(state.frame, one.look)],
                         key=lambda technique: technique.cost)
        self.levels: list[list[Watch]] = [
            [Watch(technique, seen, state.frame) for technique in same]
            for _, same in groupby(ordered, key=lambda technique: technique.cost)
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
        self._changes.clear()
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
        self._changes.clear()
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
        technique, state, seen = watch.technique, self.state, watch.seen
        since = watch.kind, seen
        places = self._touched.get(since, -1)
        if places < 0:
            if seen < 0:
                places = _everywhere(state, technique.look)
            else:
                changes = self._changes.get(seen)
                if changes is None:
                    changes = self._changes[seen] = _changes(state, seen)
                places = _touched(state, technique.look, watch.table, changes)
            self._touched[since] = places
        watch.seen = len(state.log)
        state.work.spend(places.bit_count() * technique.weight)
        return places & watch.within

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
    if since < 0:
        return _everywhere(state, look)
    return _touched(state, look, _table(state.frame, look), _changes(state, since))


def _changes(state: State, since: int) -> Changes:
    """What happened after a log entry."""
    log, digits = state.log[since:], 0
    for _, gone in log:
        digits |= gone
    return Changes({cell for cell, _ in log}, {cell for cell, gone in log if not gone}, digits)


def _touched(state: State, look: Scope, table: Sequence[int], changes: Changes) -> int:
    """The places of a kind that such changes touch; `table` has those of each cell."""
    if look is Scope.GRID:
        return 1
    if look is Scope.DIGIT:
        return changes.digits
    bits = 0
    for cell in changes.filled if look in FILLED else changes.cells:
        bits |= table[cell]
    return bits & _open(state, look)


def _open(state: State, look: Scope) -> int:
    """The places of a kind at which there may be something to find as things stand; -1 for all."""
    if look is Scope.CELL:
        return ~state.placed
    if look is Scope.ALONE:
        return state.alone
    if look is Scope.FEW:
        return state.few
    return state.many if look is Scope.MANY else -1


def _table(frame: Frame, look: Scope) -> Sequence[int]:
    """For each cell, the places it touches; none where a kind does not go by cells."""
    if look in (Scope.GRID, Scope.DIGIT):
        return ()
    if look is Scope.CELL:
        return frame.cell_bits
    if look is Scope.RELATED:
        return [cell & frame.related for cell in frame.cell_bits]
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


def _everywhere(state: State, look: Scope) -> int:
    """All places of a kind."""
    frame = state.frame
    if look in (Scope.ALONE, Scope.FEW, Scope.MANY):
        return _open(state, look)
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


def _is_anywhere(frame: Frame, look: Scope) -> bool:
    """Whether a puzzle has any places of a kind, of those that only some rules bring."""
    if look is Scope.RELATED:
        return bool(frame.related)
    if look is Scope.SUM:
        return bool(frame.sums)
    return look is not Scope.BETWEEN or bool(frame.puzzle.betweens)
