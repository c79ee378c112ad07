"""State and techniques -> the cheapest steps there are, without looking twice where nothing has changed.

Each technique keeps what it found by place; a place is looked at again when a cell that touches it changes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from types import MappingProxyType

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import FILLED, Scope, Technique
from cagework.solver.step import Step

_LIMITED: Mapping[int, Callable[[State], int]] = MappingProxyType({
    Scope.CELL.value: lambda state: ~state.placed,
    Scope.ALONE.value: lambda state: state.alone,
    Scope.FEW.value: lambda state: state.few,
    Scope.MANY.value: lambda state: state.many,
})
"""Kinds of which there is something to find at some places only, as things stand: these, as bits."""


class Watch:
    """What one technique has found so far, by place. `due` are the places to look at again, -1 for all of them,
    and `bare` those where it is known to have found nothing when it last looked; `seen` is how long the log was
    then.
    """

    __slots__ = ("bare", "due", "found", "limit", "seen", "technique", "within")

    def __init__(self, technique: Technique, frame: Frame, seen: int) -> None:
        """All is due, and nothing known."""
        self.technique, self.seen = technique, seen
        self.within, self.limit = technique.within(frame), _LIMITED.get(technique.look.value)
        self.due, self.bare = -1, 0
        self.found: dict[int, list[Step]] = {}

    def copy(self) -> Watch:
        """Return one that goes on apart from this."""
        other = object.__new__(Watch)
        other.technique, other.seen = self.technique, self.seen
        other.within, other.limit = self.within, self.limit
        other.due, other.bare, other.found = self.due, self.bare, self.found.copy()
        return other


class Kind:
    """The watches that look at one kind of place. `read` is how much of the state's log they know of, `placed` the
    cells that were filled then, and `table` has the places that each cell touches, where the kind goes by cells.
    """

    __slots__ = ("look", "placed", "read", "table", "watches")

    def __init__(self, look: Scope, table: Sequence[int], read: int, placed: int) -> None:
        self.look, self.table, self.read, self.placed = look, table, read, placed
        self.watches: list[Watch] = []

    def catch_up(self, state: State) -> None:
        """Note what is to be looked at again as of what the log has more."""
        log, bits, look, table = state.log, 0, self.look, self.table
        if look in FILLED:
            new, self.placed = state.placed & ~self.placed, state.placed
            while new:
                low = new & -new
                new ^= low
                bits |= table[low.bit_length() - 1]
        elif table:
            for cell, _ in log[self.read:]:
                bits |= table[cell]
        elif look is Scope.DIGIT:
            for _, gone in log[self.read:]:
                bits |= gone
        else:
            bits = 1
        self.read = len(log)
        if bits:
            for watch in self.watches:
                watch.due |= bits


class Agenda:
    """Finds steps in one state as it changes. `levels` are the watches of each cost, the cheapest first, each with
    its kind.
    """

    def __init__(self, state: State, techniques: Iterable[Technique], *, anew: bool = True) -> None:
        """All is looked at first or, where not `anew`, no more than what changes from now on."""
        self.state = state
        frame, read = state.frame, len(state.log)
        kinds: dict[int, Kind] = {}
        ordered = sorted([one for one in techniques if _is_anywhere(frame, one.look)], key=_cost)
        self.levels: list[list[tuple[Watch, Kind]]] = []
        for _, same in groupby(ordered, key=_cost):
            self.levels.append([])
            for technique in same:
                watch, look = Watch(technique, frame, read), technique.look
                if not anew:
                    watch.due, watch.bare = 0, -state.is_settled
                kind = kinds.get(look.value)
                if kind is None:
                    kind = kinds[look.value] = Kind(look, _table(frame, look), read, state.placed)
                kind.watches.append(watch)
                self.levels[-1].append((watch, kind))

    def copy(self, state: State) -> Agenda:
        """Return one that goes on apart from this, in a copy of its state."""
        other = object.__new__(Agenda)
        other.state, other.levels = state, []
        kinds: dict[Kind, Kind] = {}
        for level in self.levels:
            other.levels.append([])
            for watch, old in level:
                same = watch.copy()
                kind = kinds.get(old)
                if kind is None:
                    kind = kinds[old] = Kind(old.look, old.table, old.read, old.placed)
                kind.watches.append(same)
                other.levels[-1].append((same, kind))
        return other

    def cheapest(self) -> list[Step]:
        """Return every step found at the lowest cost that has any; empty where no technique finds one."""
        steps: list[Step] = []
        state = self.state
        now = len(state.log)
        for level in self.levels:
            for watch, kind in level:
                if kind.read != now:
                    kind.catch_up(state)
                if watch.due:
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
        due, now = [], len(self.state.log)
        for level in self.levels:
            for _, kind in level:
                if kind.read != now:
                    kind.catch_up(self.state)
            due.append([(watch, self._due(watch)) for watch, _ in level])
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
        """The places to look at again; what that takes is spent."""
        state, technique, places = self.state, watch.technique, watch.due
        if places < 0:
            places = everywhere(state, technique.look)
        elif watch.limit is not None:
            places &= watch.limit(state)
        watch.due = 0
        state.work.spend(places.bit_count() * technique.weight)
        return places & watch.within

    def _look(self, watch: Watch, places: int) -> None:
        """Look again at these places."""
        technique, state, found = watch.technique, self.state, watch.found
        if technique.by_loss:
            idle = places & watch.bare
            if idle:
                places ^= idle ^ technique.stirred(state, idle, _lost(state, watch.seen))
            watch.seen = len(state.log)
        likely = technique.likely(state, places)
        if likely != places:
            watch.bare |= places & ~likely
            for place in [one for one in found if places & ~likely & 1 << one]:
                del found[place]
        places = likely
        at = _at_cage if technique.by_cage and state.is_followed else _at
        while places:
            low = places & -places
            places ^= low
            place = low.bit_length() - 1
            steps = at(technique, state, place)
            if steps:
                found[place] = steps
                watch.bare &= ~low
            else:
                watch.bare |= low
                if place in found:
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


def _cost(technique: Technique) -> int:
    return technique.cost


def _lost(state: State, since: int) -> list[int]:
    """The cells that lost each digit after a log entry, as bits."""
    lost = [0] * state.frame.size
    for cell, gone in state.log[since:]:
        bit = 1 << cell
        while gone:
            low = gone & -gone
            gone ^= low
            lost[low.bit_length() - 1] |= bit
    return lost


def _at(technique: Technique, state: State, place: int) -> list[Step]:
    """What a technique finds at a place, but for what asks too much."""
    steps = list(technique.find(state, place))
    if technique.many_cases and steps:
        return [step for step in steps if not technique.asks_too_much(state.frame, state.candidates, step)]
    return steps


def _at_cage(technique: Technique, state: State, place: int) -> list[Step]:
    """The same where it goes by a cage alone: found once for as long as that is as it is."""
    left = state.open_cage(place)
    if left is None:
        return []
    steps = left.found.get(technique.name)
    if steps is None:
        steps = left.found[technique.name] = _at(technique, state, place)
    return steps


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


def everywhere(state: State, look: Scope) -> int:
    """Return all places of a kind, as bits."""
    frame = state.frame
    if look in (Scope.ALONE, Scope.FEW, Scope.MANY):
        return _LIMITED[look.value](state)
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
