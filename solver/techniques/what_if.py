"""What-if: suppose a candidate, follow a few simple steps to a dead end, and strike the candidate."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import ClassVar

from cagework.solver.frame import members
from cagework.solver.scout import Scout
from cagework.solver.state import State
from cagework.solver.step import Cites, Step, Why
from cagework.solver.technique import Look, Technique
from cagework.solver.trim import Trail, Trimmer, total_cites

MOST_PARTS = 24
"""The longest argument, in steps."""

_SHORT = 3
"""A simple argument this short is taken without looking for a shorter one."""

_FIRST_RUN = 60
"""The most steps followed before a supposition is given up, while nothing shorter is known."""


class WhatIf(Technique):
    """A candidate that leads to a dead end is struck; simple arguments come before any others."""

    cost = 200
    look = Look.GRID
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
        self._all = tuple(technique for technique in others if technique is not self)
        self._simple = tuple(technique for technique in self._all if technique.simple)

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The shortest simple argument; where there is none, any argument, and on from there when asked again.

        The state may move on between two steps: each argument is made on the state as it is. Where it has
        not moved on there is no second step.
        """
        for step in self._simple_ones(state):
            before = len(state.log)
            yield step
            if len(state.log) == before:
                return
        for cell in _fewest_first(state):
            for index in range(state.frame.size):
                if state.placed >> cell & 1 or not state.candidates[cell] >> index & 1:
                    continue
                found = self._suppose(state, self._all, cell, index, MOST_PARTS)
                if found is not None:
                    before = len(state.log)
                    yield found
                    if len(state.log) == before:
                        return
                    yield from self._simple_ones(state)

    def _simple_ones(self, state: State) -> Iterator[Step]:
        """The shortest simple argument, again and again while there is one and the state moves on."""
        before = -1
        while before != len(state.log) and (best := self._shortest(state)) is not None:
            before = len(state.log)
            yield best

    def _shortest(self, state: State) -> Step | None:
        """The shortest argument of simple steps, over the cells with fewest candidates that have one."""
        best: Step | None = None
        fewest = 2
        for cell in _fewest_first(state):
            count = state.candidates[cell].bit_count()
            if best is not None and count > fewest:
                break
            fewest = max(count, 2)
            for index in members(state.candidates[cell]):
                most = MOST_PARTS if best is None else len(best.parts) - 1
                found = self._suppose(state, self._simple, cell, index, most)
                if found is not None:
                    best = found
                    if len(best.parts) <= _SHORT:
                        return best
        return best

    def _suppose(
        self, state: State, tools: tuple[Technique, ...], cell: int, index: int, most: int
    ) -> Step | None:
        """The argument against one candidate in at most `most` parts; None where none was found."""
        below = state.copy()
        trail = Trail(below)
        scout = Scout(below, tools, 0)
        names = state.frame.cells
        supposition = self.step(below, "removes", Cites(), {"cell": names[cell], "digit": index + 1},
                                places=((cell, 1 << index),))
        trail.add(supposition)
        seen = 0
        for _ in range(min(_FIRST_RUN, 3 * most + 6)):
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
        trimmer = Trimmer(trail, (last,), {technique.name: technique for technique in self._all})
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


def _fewest_first(state: State) -> list[int]:
    """The open cells, those with fewest candidates first."""
    open_ = [cell for cell, mask in enumerate(state.candidates) if mask & mask - 1]
    return sorted(open_, key=lambda cell: state.candidates[cell].bit_count())


def _adds_up(state: State, number: int) -> bool:
    """Whether a cage that is filled, or has no total, is as it should be."""
    frame = state.frame
    total = frame.totals[number]
    return total is None or total == sum(state.candidates[cell].bit_length() for cell in frame.cages[number])
