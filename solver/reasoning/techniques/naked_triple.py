"""Naked triple: three cells of a house or cage with three digits between them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.subsets import naked
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class NakedTriple(Technique):
    """Three cells of a house or cage with three digits between them."""

    cost = 56
    cases = 3
    look = Scope.GROUP
    sentences: ClassVar = {
        "removes": "In {group}, {cells} have only {digits} between them, "
                   "so no other cell there can be {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each triple."""
        for cites, why, removes in naked(state, place, 3):
            yield self.step(state, "removes", cites, why, removes=removes)
