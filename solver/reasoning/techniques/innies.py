"""45 rule, one house: two to four open cells and what they add to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import FEW_IN, balance_cases, balance_still_bars, few_steps
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class Innies(Technique):
    """A few innies of one house."""

    cost = 42
    look = Scope.FEW
    simple = True
    many_cases = True
    sentences: ClassVar = FEW_IN

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for key, cites, why, removes in few_steps(state, place, wide=False, plus=True, minus=False):
            yield self.step(state, key, cites, why, removes=removes)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The least and the greatest where these say it, else the ways to make the sum."""
        return balance_cases(frame, masks, step)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The sum still rules these digits out."""
        return balance_still_bars(frame, step, eliminated)
