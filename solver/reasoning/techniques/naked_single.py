"""Naked single: a cell with one candidate left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from cagework.solver.bitset import with_one_open
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step


class NakedSingle(Technique):
    """What can this cell hold? One digit only."""

    cost = 160
    look = Scope.CELL
    simple = True
    single = True
    question = "What is left for {cell}?"
    sentences: ClassVar = {"places": "{cell} can only be {digit}."}
    clauses: ClassVar = {"places": "{cell} is {digit} (nothing else is left)"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a cell."""
        bit = state.candidates[place]
        if bit and not bit & bit - 1 and not state.placed >> place & 1:
            yield self._told(state.frame, place, bit)

    def likely(self, state: State, places: int) -> int:
        """Open cells with one candidate."""
        return with_one_open(state.candidates, places & ~state.placed, state.frame.full)

    def needs(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> list[tuple[int, int]]:
        """The cell has no other digit."""
        return [(cell, frame.full ^ answer[cell])]

    def seen(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> Step:
        """The cell's only digit."""
        return self._told(frame, cell, answer[cell])

    def _told(self, frame: Frame, cell: int, bit: int) -> Step:
        name, digit = frame.cells[cell], bit.bit_length()
        cites = Cites(((name, frame.full ^ bit),))
        return Step(self.name, self.cost, "places", ((name, digit),), (), cites, {"cell": name, "digit": digit})
