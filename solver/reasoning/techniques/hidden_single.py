"""Hidden single: a digit with one place left in a house."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why


class HiddenSingle(Technique):
    """Where can the digit go in this house? In one cell only."""

    cost = 140
    look = Scope.HOUSE
    simple = True
    single = True
    by_loss = True
    question = "Where in {house} can {digit} go?"
    sentences: ClassVar = {"places": "In {house}, {digit} can go only in {cell}."}
    clauses: ClassVar = {"places": "{cell} is {digit} ({house})"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """One step for each such digit."""
        frame = state.frame
        if not frame.whole[place]:
            return
        candidates = state.candidates
        once = twice = 0
        for cell in frame.houses[place]:
            mask = candidates[cell]
            twice |= once & mask
            once |= mask
        single = once & ~twice
        if not single:
            return
        for cell in frame.houses[place]:
            bit = candidates[cell] & single
            if bit and not bit & bit - 1 and not state.placed >> cell & 1:
                yield self._told(frame, place, cell, bit)

    def tells(self, state: State, everywhere: int, inside: int) -> bool:
        """One place is left, or none."""
        left = inside & ~state.placed
        return not left & left - 1 and (left > 0 or not inside)

    def needs(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> list[tuple[int, int]] | None:
        """No other cell of the house has the digit."""
        bit = answer[cell]
        return [(other, bit) for other in frame.houses[place] if other != cell] if frame.whole[place] else None

    def seen(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> Step:
        """The digit's only place in the house."""
        return self._told(frame, place, cell, answer[cell])

    def _told(self, frame: Frame, place: int, cell: int, bit: int) -> Step:
        """The step, which is the same whenever the cell is filled so."""
        known = frame.singles.get((place, cell, bit))
        if known is None:
            house, name, digit = frame.puzzle.houses[place], frame.cells[cell], bit.bit_length()
            others = members(frame.house_sets[place] & ~(1 << cell))
            cites = Cites(tuple([(frame.cells[other], bit) for other in others]), (house,))
            why: Why = {"house": house, "digit": digit, "cell": name}
            known = frame.singles[place, cell, bit] = Step(
                self.name, self.cost, "places", ((name, digit),), (), cites, why)
        return known
