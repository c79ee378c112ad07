"""Hidden triple: three digits with three cells between them in a house."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.subsets import hidden
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class HiddenTriple(Technique):
    """Three digits with three cells between them in a house."""

    cost = 64
    cases = 3
    look = Scope.HOUSE
    question = "Where in {house} can {digits} go?"
    sentences: ClassVar = {
        "removes": "In {house}, {digits} can go only in {cells}, so these hold nothing else.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each triple."""
        for cites, why, removes in hidden(state, place, 3):
            yield self.step(state, "removes", cites, why, removes=removes)
