"""A cage taken way by way: a way that leaves something nearby nothing is struck."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from operator import eq
from typing import ClassVar

from cagework.solver.reasoning.cage_sums import cage_cases, cage_cites, removals
from cagework.solver.reasoning.dead_ends import open_ground
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import MOST_CASES, Scope, Technique
from cagework.solver.reasoning.way_trials import any_dead, enough, told, told_ways, tried, tried_again
from cagework.solver.step import Step, joined


class WayByWay(Technique):
    """What none of the ways that are left has goes."""

    cost = 680
    weight = 12
    look = Scope.NEAR_CAGE
    many_cases = True
    question = "How can {made} be made?"
    sentences: ClassVar = {
        "removes": "{made} cannot be {dead}. That leaves {live}{reason}.",
        "left": "{made} is {live}{reason}.",
    }
    answers: ClassVar = {
        "removes": "Not as {dead}. That leaves {live}{reason}.",
        "left": "Only as {live}{reason}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a cage."""
        left = state.open_cage(place)
        if left is None or len(left.cells) < 2 or not 2 <= len(left.combinations) <= MOST_CASES:
            return
        since, kept, ways = state.in_vain.get((place,), (0, (), ()))
        if since and kept == left.kept and not any_dead(open_ground(state, since), left.cells, kept, ways):
            state.in_vain[place,] = len(state.log), kept, ways      # those that were live are so yet
            return
        ground = open_ground(state)
        if all(map(eq, left.kept, map(state.candidates.__getitem__, left.cells))):
            ways = enough(ground, left.cells, left.kept, left.combinations)
            if ways:
                state.in_vain[place,] = len(state.log), left.kept, ways
                return
        trials = tried(ground, left.cells, left.kept, left.combinations)
        removes = removals(state, trials.reach()) if trials.dead and trials.live else ()
        state.in_vain.pop((place,), None)
        if not removes:
            state.in_vain[place,] = len(state.log), left.kept, tuple([trial.way for trial in trials.live])
        if removes:
            why = told(state.frame, state.frame.puzzle.cages[place], trials, state.candidates)
            cites = joined(cage_cites(state, place), *(trial.end.cites for trial in trials.dead if trial.end))
            yield self.step(state, "removes", cites, why, removes=removes)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """There are the same ways, and those that are left still do not have what goes."""
        trials = tried_again(frame, step, eliminated)
        if trials is None or not trials.live or trials.ways != told_ways(step):
            return False
        reach = trials.reach()
        return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in step.removes)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say which ways there are and where each dead one ends as cells stand."""
        trials = tried_again(frame, step, frame.lost(masks))
        if trials is None or not trials.live:
            return step
        return replace(step, key="removes" if trials.dead else "left",
                       why=told(frame, step.cites.cages[0], trials, masks))
