"""Last cell of a house: all other cells are filled, so it takes the digit that is left."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why


class LastInHouse(Technique):
    """One empty cell in a house."""

    cost = 10
    look = Scope.HOUSE_FILLED
    simple = True
    single = True
    question = "What is left for {cell}?"
    sentences: ClassVar = {"places": "{cell}, the last empty cell of {house}, is {digit}."}
    clauses: ClassVar = {"places": "{cell} is {digit} ({house})"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a house."""
        frame = state.frame
        empty = frame.house_sets[place] & ~state.placed
        if not frame.whole[place] or empty & empty - 1 or not empty:
            return
        cell = empty.bit_length() - 1
        bit = frame.full
        for other in frame.houses[place]:
            if other != cell:
                bit &= ~state.candidates[other]
        if bit & state.candidates[cell]:
            house = frame.puzzle.houses[place]
            cites = Cites(state.missing(frame.house_sets[place] ^ empty, bit), (house,))
            why: Why = {"cell": frame.cells[cell], "house": house, "digit": bit.bit_length()}
            yield self.step(state, "places", cites, why, places=((cell, bit),))
