"""45 rule, several adjoining houses: two to four open cells stick out, and what they add to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import FEW_OUT, FewCells, few_steps
from cagework.solver.step import Step


class WideOuties(FewCells):
    """A few outies of several houses; they may repeat a digit where no house or cage forbids it."""

    cost = 55
    question = "What can {outies} be?"
    sentences: ClassVar = FEW_OUT

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for key, cites, why, removes in few_steps(state, place, wide=True, plus=False, minus=True):
            yield self.step(state, key, cites, why, removes=removes)
