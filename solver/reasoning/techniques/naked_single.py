"""Naked single: a cell with one candidate left."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why


class NakedSingle(Technique):
    """What can this cell hold? One digit only."""

    cost = 16
    look = Scope.CELL
    simple = True
    single = True
    question = "What is left for {cell}?"
    sentences: ClassVar = {"places": "Only {digit} is left for {cell}."}
    clauses: ClassVar = {"places": "{cell} is {digit} (nothing else is left)"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a cell."""
        bit = state.candidates[place]
        if bit and not bit & bit - 1 and not state.placed >> place & 1:
            cell = state.frame.cells[place]
            why: Why = {"cell": cell, "digit": bit.bit_length()}
            cites = Cites(((cell, state.frame.full ^ bit),))
            yield self.step(state, "places", cites, why, places=((place, bit),))
