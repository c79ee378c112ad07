"""A digit of a cage's cell, by all the ways that would have it there: none of them works."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.reasoning.cage_sums import cage_cites
from cagework.solver.reasoning.dead_ends import open_ground
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import MOST_CASES, Scope, Technique
from cagework.solver.reasoning.way_trials import Trials, first_live, told, told_ways, tried, tried_again
from cagework.solver.step import Step, Why, joined

_FEW = 2
"""A step of so few ways is taken without looking for one of fewer."""

_TRIED = 24
"""Candidates that are looked at: those that fail soonest."""


class DigitByWays(Technique):
    """Every way that has the digit in the cell leaves something nearby nothing."""

    cost = 740
    look = Scope.GRID
    many_cases = True
    last_resort = True
    sentences: ClassVar = {
        "removes": "Could {cell} be {digit}? Then {made} would be {dead}. So {cell} is not {digit}.",
        "none": "With {digit} in {cell}, {made} cannot be made, so {cell} is not {digit}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The step with the fewest ways, against one of the candidates that fail soonest."""
        best: Step | None = None
        fewest = MOST_CASES + 1
        for cell, index in state.doomed()[:_TRIED]:
            for cage in state.frame.cages_of[cell]:
                ways = self._ways(state, cage, cell, 1 << index)
                if ways and len(ways.all) < fewest:
                    best, fewest = self._step(state, cage, cell, 1 << index, ways), len(ways.all)
            if fewest <= _FEW:
                break
        if best is not None:
            yield best

    def _ways(self, state: State, cage: int, cell: int, bit: int) -> Trials | None:
        """The ways to make a cage that have the digit in the cell, where there are some and all are dead."""
        left = state.open_cage(cage)
        if left is None or len(left.cells) < 2 or not 1 <= len(left.combinations) <= 2 * MOST_CASES:
            return None
        since, kept, known = state.in_vain.get((cage, cell, bit), (0, (), ()))
        again = [way for way in known if way in left.combinations]
        near = open_ground(state, since if kept == left.kept else 0)    # elsewhere nothing is new
        if again and first_live(near, left.cells, left.kept, again, cell, bit):
            state.in_vain[cage, cell, bit] = len(state.log), left.kept, known
            return None     # what was live then is so yet
        state.work.spend(len(left.combinations))
        ground = open_ground(state)
        live = first_live(ground, left.cells, left.kept, left.combinations, cell, bit)
        if live:
            state.in_vain[cage, cell, bit] = len(state.log), left.kept, (live,)
            return None
        ways = tried(ground, left.cells, left.kept, left.combinations, cell=cell, bit=bit)
        return ways if ways.all else None

    def _step(self, state: State, cage: int, cell: int, bit: int, ways: Trials) -> Step:
        frame = state.frame
        why: Why = {"cell": frame.cells[cell], "digit": bit.bit_length()}
        why |= told(frame, frame.puzzle.cages[cage], ways, state.candidates)
        cites = joined(cage_cites(state, cage), *(trial.end.cites for trial in ways.dead if trial.end))
        return self.step(state, "removes", cites, why, removes=((cell, bit),))

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways that would have the digit there."""
        return len(told_ways(step))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """There are the same ways that have the digit there, and none works yet."""
        trials = _tried_again(frame, step, eliminated)
        return trials is not None and not trials.live and trials.ways == told_ways(step)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say which ways there are and where each ends as cells stand."""
        trials = _tried_again(frame, step, frame.lost(masks))
        if trials is None or trials.live:
            return step
        return replace(step, key="removes" if trials.all else "none",
                       why=step.why | told(frame, step.cites.cages[0], trials, masks))


def _tried_again(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> Trials | None:
    """The ways that have the digit there, by what the step cites with just these digits missing."""
    ((name, bit),) = step.removes
    return tried_again(frame, step, eliminated, cell=frame.index[name], bit=bit)
