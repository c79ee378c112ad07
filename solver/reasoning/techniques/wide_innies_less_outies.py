"""45 rule, several adjoining houses: innies and outies, and by how much they differ."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import IN_AND_OUT, FewCells, few_steps
from cagework.solver.step import Step


class WideInniesLessOuties(FewCells):
    """Innies and outies of several houses."""

    cost = 58
    sentences: ClassVar = IN_AND_OUT

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for key, cites, why, removes in few_steps(state, place, wide=True, plus=True, minus=True):
            yield self.step(state, key, cites, why, removes=removes)
