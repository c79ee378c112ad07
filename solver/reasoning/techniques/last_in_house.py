"""Last cell of a house: all other cells are filled, so it takes the digit that is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from cagework.solver.bitset import members, with_one_open
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why


class LastInHouse(Technique):
    """One empty cell in a house."""

    cost = 100
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
            yield self._told(frame, place, cell, bit)

    def likely(self, state: State, places: int) -> int:
        """Houses with one empty cell."""
        return with_one_open(state.frame.house_sets, places, ~state.placed)

    def needs(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> list[tuple[int, int]] | None:
        """All other cells of the house are filled."""
        if not frame.whole[place]:
            return None
        return [(other, frame.full ^ answer[other]) for other in frame.houses[place] if other != cell]

    def seen(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> Step:
        """The digit that the house still lacks."""
        return self._told(frame, place, cell, answer[cell])

    def _told(self, frame: Frame, place: int, cell: int, bit: int) -> Step:
        house, names, digit = frame.puzzle.houses[place], frame.cells, bit.bit_length()
        others = members(frame.house_sets[place] & ~(1 << cell))
        cites = Cites(tuple([(names[other], bit) for other in others]), (house,))
        why: Why = {"cell": names[cell], "house": house, "digit": digit}
        return Step(self.name, self.cost, "places", ((names[cell], digit),), (), cites, why)
