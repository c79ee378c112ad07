"""A digit of a cage's cell, by all the ways that would have it there: none of them works."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.reasoning.cage_sums import cage_cites
from cagework.solver.reasoning.dead_ends import open_ground
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import MOST_CASES, Scope, Technique
from cagework.solver.reasoning.way_trials import Trial, told, tried, tried_again
from cagework.solver.step import Step, Why, joined

_FEW = 2
"""A step of so few ways is taken without looking for one of fewer."""

_TRIED = 24
"""Candidates that are looked at: those that fail soonest."""


class DigitByWays(Technique):
    """Every way that has the digit in the cell leaves something nearby nothing."""

    cost = 74
    look = Scope.GRID
    many_cases = True
    last_resort = True
    sentences: ClassVar = {
        "removes": "Could {cell} be {digit}? Then {cage} would be {dead}.",
        "left": "Could {cell} be {digit}? Then what is left of {cage} would be {dead}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The step with the fewest ways, against one of the candidates that fail soonest."""
        best: Step | None = None
        fewest = MOST_CASES + 1
        for cell, index in state.doomed()[:_TRIED]:
            for cage in state.frame.cages_of[cell]:
                ways = self._ways(state, cage, cell, 1 << index)
                if ways and len(ways) < fewest:
                    best, fewest = self._step(state, cage, cell, 1 << index, ways), len(ways)
            if fewest <= _FEW:
                break
        if best is not None:
            yield best

    def _ways(self, state: State, cage: int, cell: int, bit: int) -> tuple[Trial, ...]:
        """The ways to make a cage that have the digit in the cell, where all are dead; else none."""
        left = state.open_cage(cage)
        if left is None or len(left.cells) < 2 or not 1 <= len(left.combinations) <= 2 * MOST_CASES:
            return ()
        state.work.spend(len(left.combinations))
        ways = tried(open_ground(state), left.cells, left.kept, left.combinations, cell=cell, bit=bit)
        return () if ways.live else ways.all

    def _step(self, state: State, cage: int, cell: int, bit: int, ways: tuple[Trial, ...]) -> Step:
        frame = state.frame
        why: Why = {
            "cage": frame.puzzle.cages[cage], "cell": frame.cells[cell], "digit": bit.bit_length(),
            "dead": told(ways),
        }
        cites = joined(cage_cites(state, cage), *(trial.end.cites for trial in ways if trial.end))
        begun = any(state.placed >> one & 1 for one in frame.cages[cage])
        return self.step(state, "left" if begun else "removes", cites, why, removes=((cell, bit),))

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways that would have the digit there."""
        dead = step.why["dead"]
        return len(dead) if isinstance(dead, tuple) else 1

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """No way that has the digit there works yet."""
        ((name, bit),) = step.removes
        trials = tried_again(frame, step, eliminated, cell=frame.index[name], bit=bit)
        return trials is not None and not trials.live
