"""45 rule, one house: two to four open cells and what they add to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import FEW_IN, FewCells, few_steps
from cagework.solver.step import Step


class Innies(FewCells):
    """A few innies of one house."""

    cost = 42
    simple = True
    question = "What can {innies} be?"
    sentences: ClassVar = FEW_IN

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for key, cites, why, removes in few_steps(state, place, wide=False, plus=True, minus=False):
            yield self.step(state, key, cites, why, removes=removes)
