"""Two sums that share all but two cells: what these two can hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.reasoning.balancing import balance_cases, balance_still_bars, balance_strikes, open_reach
from cagework.solver.reasoning.cage_sums import removals
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.shared import TWO_SUMS, meeting_cites, meetings, retold
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step

_LEAST = 2
"""The fewest cells that the sums must share. One alone ties what is left no closer than the sums do already, but
where it makes two cells equal (`equal_cells`).
"""


class SharedSums(Technique):
    """A sum less another."""

    cost = 590
    look = Scope.FEW
    many_cases = True
    sentences: ClassVar = TWO_SUMS

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step for each other sum."""
        for meeting in meetings(state, place, _LEAST):
            left = meeting.left
            if left.minus and left.total == 0:      # they are equal
                continue
            removes = removals(state, open_reach(state, left))
            if removes:
                cites = meeting_cites(state, meeting, left.plus + left.minus)
                step = self.step(state, "in+in+both", cites, {}, removes=removes)
                yield retold(state.frame, step, state.candidates)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The cases of what is left, and one for the two sums as one."""
        return 1 + balance_cases(frame, masks, step)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """What is left still rules these digits out."""
        return balance_still_bars(frame, step, eliminated)

    def whole(self, frame: Frame, step: Step) -> Step:
        """The two sums leave no digit that they rule out, where a reader can see them all go."""
        more = balance_strikes(frame, step)
        return step if self.asks_too_much(frame, frame.cited(step.cites), more) else more

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say both sums as they stand."""
        return retold(frame, step, masks)
