"""Hidden quad: four digits with four cells between them in a house."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.subsets import hidden
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class HiddenQuad(Technique):
    """Four digits with four cells between them in a house."""

    cost = 74
    cases = 4
    look = Scope.HOUSE
    question = "Where in {house} can {digits} go?"
    sentences: ClassVar = {
        "removes": "In {house}, {digits} can go only in {cells}, so these hold nothing else.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each quad."""
        for cites, why, removes in hidden(state, place, 4):
            yield self.step(state, "removes", cites, why, removes=removes)
