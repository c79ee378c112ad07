"""45 rule, several adjoining houses: the cages that cover them stick out by one cell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import ONE_OUT, lone_step
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class WideOutie(Technique):
    """One cell of the cages over several houses lies outside them."""

    cost = 39
    look = Scope.ALONE
    simple = True
    question = ("{houses} {houses:adds|add} to {total}. How much more do the cages over {houses:it|them} make, "
                "and what is {cell}?")
    sentences: ClassVar = ONE_OUT

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        for key, cites, why, places in lone_step(state, place, wide=True, inside=False):
            yield self.step(state, key, cites, why, places=places)
