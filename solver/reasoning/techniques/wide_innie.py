"""45 rule, several adjoining houses: the cages inside them and the cells filled leave one cell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import ONE_IN, lone_step
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class WideInnie(Technique):
    """All of several houses is known but an innie."""

    cost = 36
    look = Scope.ALONE
    simple = True
    question = "{houses} {houses:adds|add} to {total}. What do the cages inside leave over for {cell}?"
    sentences: ClassVar = ONE_IN

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for key, cites, why, places in lone_step(state, place, wide=True, inside=True):
            yield self.step(state, key, cites, why, places=places)
