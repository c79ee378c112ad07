"""Last cell of a cage: the total less the digits already there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from cagework.solver.bitset import members, with_one_open
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why


class LastInCage(Technique):
    """One empty cell in a cage with a total."""

    cost = 120
    look = Scope.CAGE_FILLED
    simple = True
    single = True
    question = "What is left for {cell}?"
    sentences: ClassVar = {
        "places": "The other {others:cell|cells} of {cage} {others:is|add to} {sum}, so {cell} is {digit}.",
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
        grid = state.candidates[:]
        grid[cell] = bit
        yield self.seen(frame, place, cell, grid)

    def likely(self, state: State, places: int) -> int:
        """Cages with one empty cell."""
        return with_one_open(state.frame.cage_sets, places, ~state.placed)

    def needs(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> list[tuple[int, int]] | None:
        """All other cells of the cage are filled."""
        if frame.totals[place] is None:
            return None
        return [(other, frame.full ^ answer[other]) for other in frame.cages[place] if other != cell]

    def seen(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> Step:
        """What the cage's total leaves; only its cells of the grid matter."""
        cage, name, digit = frame.puzzle.cages[place], frame.cells[cell], answer[cell].bit_length()
        others = frame.cage_sets[place] & ~(1 << cell)
        rest = frame.told((cage.total or 0) - digit, len(cage.cells) - 1)
        why: Why = {"cage": cage, "cell": name, "digit": digit, "sum": rest,
                    "others": tuple([one for one in cage.cells if one != name])}
        lacking = tuple([(frame.cells[one], frame.full ^ answer[one]) for one in members(others)])
        cites = Cites(lacking, cages=(cage,))
        return Step(self.name, self.cost, "places" if others else "alone", ((name, digit),), (), cites, why)
