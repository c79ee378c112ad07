"""Naked quad: four cells of a house or cage with four digits between them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.subsets import naked
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class NakedQuad(Technique):
    """Four cells of a house or cage with four digits between them."""

    cost = 68
    cases = 4
    look = Scope.GROUP
    sentences: ClassVar = {
        "removes": "In {group}, {cells} have only {digits} between them, "
                   "so no other cell there can be {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each quad."""
        for cites, why, removes in naked(state, place, 4):
            yield self.step(state, "removes", cites, why, removes=removes)
