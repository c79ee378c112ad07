"""45 rule, several adjoining houses: two to four open cells and what they add to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import ClassVar

from cagework.solver.frame import Frame
from cagework.solver.state import State
from cagework.solver.step import Step
from cagework.solver.sums import balance_still_bars, few_steps
from cagework.solver.technique import Look, Technique


class WideInnies(Technique):
    """A few innies of several houses."""

    cost = 52
    look = Look.FEW
    sentences: ClassVar = {
        "removes": "Cages and filled cells account for all of {houses} but {innies}, which add to {sum}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for cites, why, removes in few_steps(state, place, wide=True, plus=True, minus=False):
            yield self.step(state, "removes", cites, why, removes=removes)

    def holds(self, frame: Frame, step: Step, struck: Mapping[int, int]) -> bool:
        """The sum still rules these digits out."""
        return balance_still_bars(frame, step, struck)
