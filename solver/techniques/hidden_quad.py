"""Hidden quad: four digits with four cells between them in a house."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.state import State
from cagework.solver.step import Step
from cagework.solver.subsets import hidden
from cagework.solver.technique import Look, Technique


class HiddenQuad(Technique):
    """Four digits with four cells between them in a house."""

    cost = 74
    look = Look.HOUSE
    sentences: ClassVar = {
        "removes": "In {house}, {digits} can go only in {cells}, so these hold nothing else.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each quad."""
        for cites, why, removes in hidden(state, place, 4):
            yield self.step(state, "removes", cites, why, removes=removes)
