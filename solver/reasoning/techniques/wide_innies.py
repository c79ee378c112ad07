"""45 rule, several adjoining houses: two to four open cells and what they add to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import FEW_IN, FewCells, few_steps
from cagework.solver.step import Step


class WideInnies(FewCells):
    """A few innies of several houses."""

    cost = 52
    question = "What can {innies} be?"
    sentences: ClassVar = FEW_IN

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for key, cites, why, removes in few_steps(state, place, wide=True, plus=True, minus=False):
            yield self.step(state, key, cites, why, removes=removes)
