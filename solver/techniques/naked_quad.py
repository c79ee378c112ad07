"""Naked quad: four cells of a house or cage with four digits between them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.state import State
from cagework.solver.step import Step
from cagework.solver.subsets import naked
from cagework.solver.technique import Look, Technique


class NakedQuad(Technique):
    """Four cells of a house or cage with four digits between them."""

    cost = 68
    look = Look.GROUP
    sentences: ClassVar = {
        "removes": "In {group}, {cells} have only {digits} between them, "
                   "so no other cell there can be {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each quad."""
        for cites, why, removes in naked(state, place, 4):
            yield self.step(state, "removes", cites, why, removes=removes)
