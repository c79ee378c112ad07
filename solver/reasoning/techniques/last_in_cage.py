"""Last cell of a cage: the total less the digits already there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why


class LastInCage(Technique):
    """One empty cell in a cage with a total."""

    cost = 12
    look = Scope.CAGE_FILLED
    simple = True
    single = True
    question = "What is left for {cell}?"
    sentences: ClassVar = {
        "places": "The other cells of {cage} add to {sum}, so {cell} is {digit}.",
        "alone": "{cage} is a single cell, so {cell} is {digit}.",
    }
    clauses: ClassVar = {
        "places": "{cell} is {digit} (its cage)",
        "alone": "{cell} is {digit} (a cage of its own)",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a cage."""
        frame = state.frame
        empty = frame.cage_sets[place] & ~state.placed
        if not empty or empty & empty - 1:
            return
        left = state.open_cage(place)
        if left is None or not left.kept[0]:
            return
        cell, bit = left.cells[0], left.kept[0]
        cage = frame.puzzle.cages[place]
        others = frame.cage_sets[place] ^ empty
        others_sum = (cage.total or 0) - left.total
        why: Why = {"cage": cage, "cell": frame.cells[cell], "digit": left.total, "sum": others_sum}
        cites = Cites(state.missing(others, frame.full), cages=(cage,))
        yield self.step(state, "places" if others else "alone", cites, why, places=((cell, bit),))
