"""What-if: suppose a candidate, follow a few simple steps to a dead end, and eliminate the candidate."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from operator import and_
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.agenda import Agenda
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.prune import Pruner, Trail, total_cites
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.search.kernel import lower
from cagework.solver.search.propagate import propagate
from cagework.solver.step import Cites, Step, Why

MOST_PARTS = 24
"""The longest argument, in steps, unless no supposition has a shorter one."""

_WIDEST = 95
"""Techniques that cost more are arguments enough by themselves; they are no part of another."""

_SHORT = 3
"""A simple argument this short is taken without looking for a shorter one."""

_COMPARED = 4
"""Arguments looked for after the first, in case one is shorter."""

_ENOUGH = 24
"""Candidates known to fail that are enough to choose from; so many, too, are asked again how soon they do."""

_FIRST_RUN = 60
"""The most steps followed before a supposition is given up, while nothing shorter is known."""


class WhatIf(Technique):
    """A candidate that leads to a dead end is eliminated; simple arguments come before any others."""

    cost = 200
    look = Scope.GRID
    sentences: ClassVar = {
        "removes": "Suppose {cell} is {digit}.",
        "no_digit": "Then nothing is left for {cell}.",
        "no_place": "Then {digit} has no place in {house}.",
        "no_sum": "Then {cage} cannot be made.",
    }

    def __init__(self) -> None:
        self._simple: tuple[Technique, ...] = ()
        self._all: tuple[Technique, ...] = ()

    def equip(self, others: Iterable[Technique]) -> None:
        """Take the simple techniques as tools, and all others for where these lead nowhere."""
        self._all = tuple(technique for technique in others if technique.cost <= _WIDEST)
        self._simple = tuple(technique for technique in self._all if technique.simple)

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The shortest simple argument; where there is none, any argument; and again when asked again.

        The state may move on between two steps: each argument is made on the state as it is. Where it has
        not moved on there is no second step.
        """
        before, doom = -1, _Doom(state.frame)
        while before != len(state.log):
            before = len(state.log)
            doomed = doom.doomed(state, _ENOUGH)
            step = self._against(state, doomed)
            if step is None:
                tried = set(doomed)
                others = [one for one in doom.doomed(state) if one not in tried]
                step = self._against(state, others) or next(self._any(state), None)
            if step is None:
                return
            yield step

    def _against(self, state: State, doomed: list[tuple[int, int]]) -> Step | None:
        """The shortest argument against one of these candidates; a simple one where there is any."""
        return (
            self._shortest(state, self._simple, doomed, MOST_PARTS)
            or self._shortest(state, self._all, doomed, MOST_PARTS)
            or self._shortest(state, self._all, doomed, 3 * MOST_PARTS)
        )

    def _shortest(
        self, state: State, tools: tuple[Technique, ...], doomed: list[tuple[int, int]], most: int
    ) -> Step | None:
        """The shortest argument, of at most so many parts, against one of the first few of these candidates
        that have one.
        """
        best: Step | None = None
        found = 0
        for cell, index in doomed:
            step = self._suppose(state, tools, cell, index, len(best.parts) - 1 if best else most)
            best = step or best
            found += best is not None
            if best and (len(best.parts) <= _SHORT or found > _COMPARED):
                break
        return best

    def _any(self, state: State) -> Iterator[Step]:
        """Arguments against any candidate, by all means."""
        for cell in _fewest_first(state):
            for index in members(state.candidates[cell]):
                step = self._suppose(state, self._all, cell, index, MOST_PARTS)
                if step is not None:
                    yield step

    def _suppose(
        self, state: State, tools: tuple[Technique, ...], cell: int, index: int, most: int
    ) -> Step | None:
        """The argument against one candidate in at most `most` parts; None where none was found."""
        below = state.copy()
        trail = Trail(below)
        scout = Agenda(below, tools, 0)
        names = state.frame.cells
        supposition = self.step(below, "removes", Cites(), {"cell": names[cell], "digit": index + 1},
                                places=((cell, 1 << index),))
        trail.add(supposition)
        seen = 0
        for _ in range(min(max(_FIRST_RUN, 2 * most), 3 * most + 6)):
            end = self._dead_end(below, seen)
            if end is not None:
                return self._argument(trail, end, cell, index, most)
            seen = len(below.log)
            steps = scout.cheapest()
            if not steps:
                return None
            trail.add(steps[0])
        return None

    def _argument(self, trail: Trail, end: Step, cell: int, index: int, most: int) -> Step | None:
        """The steps that lead to the dead end, and no others."""
        trail.add(end)
        last = len(trail.steps) - 1
        trimmer = Pruner(trail, (last,), {technique.name: technique for technique in self._all})
        kept = trimmer.run()
        supposition = kept.pop(0, None)
        if supposition is None or len(kept) > most:
            return None
        parts = tuple(kept.values())
        cites = total_cites(trimmer, parts)
        why: Why = {"cell": trail.state.frame.cells[cell], "digit": index + 1}
        step = self.step(trail.state, "removes", cites, why, removes=((cell, 1 << index),))
        return replace(step, parts=parts)

    def _dead_end(self, state: State, seen: int) -> Step | None:
        """What has become impossible since: a cell without digits, a digit without a cell, a cage out of sums."""
        frame = state.frame
        houses = cages = 0
        for cell, _ in state.log[seen:]:
            if not state.candidates[cell]:
                cites = Cites(state.missing(1 << cell, frame.full))
                return self.step(state, "no_digit", cites, {"cell": frame.cells[cell]})
            houses |= frame.house_bits[cell]
            cages |= frame.cage_bits[cell]
        for number in members(houses):
            if frame.whole[number]:
                union = 0
                for cell in frame.houses[number]:
                    union |= state.candidates[cell]
                if union != frame.full:
                    lost = frame.full & ~union
                    house = frame.puzzle.houses[number]
                    cites = Cites(state.missing(frame.house_sets[number], lost & -lost), (house,))
                    digit = (lost & -lost).bit_length()
                    return self.step(state, "no_place", cites, {"digit": digit, "house": house})
        for number in members(cages):
            left = state.open_cage(number)
            if left is None:
                if _adds_up(state, number):
                    continue
            elif left.combinations:
                continue
            cage = frame.puzzle.cages[number]
            cites = Cites(state.missing(frame.cage_sets[number], frame.full), cages=(cage,))
            return self.step(state, "no_sum", cites, {"cage": cage})
        return None


class _Doom:
    """Tells which suppositions fail by narrowing alone, and so are worth an argument; that is found without it.

    The grid only ever loses candidates. So what failed goes on failing: `failed` is how much was narrowed before
    it did. What stood is narrowed further from where it stood: `stood` are those grids. Both are kept by cell
    and digit's index.
    """

    def __init__(self, frame: Frame) -> None:
        self.kernel = lower(frame.puzzle)
        self.failed: dict[tuple[int, int], int] = {}
        self.stood: dict[tuple[int, int], list[int]] = {}

    def doomed(self, state: State, enough: int | None = None) -> list[tuple[int, int]]:
        """Candidates that fail, as (cell, digit's index), the soonest first: all, or at least `enough`."""
        now = state.candidates
        open_ = [(cell, index) for cell in _fewest_first(state) for index in members(now[cell])]
        found = [one for one in open_ if one in self.failed]
        if enough is None or len(found) < enough:
            found += [one for one in open_ if one not in self.failed and not self._stands(now, one)]
        found.sort(key=self._order)
        for one in found[:_ENOUGH]:
            self._fails(now, one)
        return sorted(found, key=self._order)

    def _order(self, one: tuple[int, int]) -> tuple[int, tuple[int, int]]:
        return self.failed[one], one

    def _stands(self, now: list[int], one: tuple[int, int]) -> bool:
        """Whether narrowing leaves the grid standing with this candidate in its cell."""
        before = self.stood.get(one)
        if before is not None:
            trial = list(map(and_, before, now))
            changed = [cell for cell, mask in enumerate(before) if trial[cell] != mask]
            if not changed:
                return True
            if 0 not in trial and propagate(self.kernel, trial, changed):
                self.stood[one] = trial
                return True
        return not self._fails(now, one)

    def _fails(self, now: list[int], one: tuple[int, int]) -> bool:
        """Whether narrowing the grid as it is does away with this candidate; how soon is kept."""
        trial = now[:]
        trial[one[0]] = 1 << one[1]
        if propagate(self.kernel, trial, one[:1]):
            self.stood[one] = trial
            return False
        self.failed[one] = sum(map(int.bit_count, now)) - sum(map(int.bit_count, trial))
        return True


def _fewest_first(state: State) -> list[int]:
    """The open cells, those with fewest candidates first."""
    open_ = [cell for cell, mask in enumerate(state.candidates) if mask & mask - 1]
    return sorted(open_, key=lambda cell: state.candidates[cell].bit_count())


def _adds_up(state: State, number: int) -> bool:
    """Whether a cage that is filled, or has no total, is as it should be."""
    frame = state.frame
    total = frame.totals[number]
    return total is None or total == sum(state.candidates[cell].bit_length() for cell in frame.cages[number])
