"""Cage fit: a digit that leaves the rest of its cage nothing that works."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.reasoning.cage_sums import cage_cases, cage_cites, cage_still_bars
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class CageFit(Technique):
    """Every filling of a cage is tried; what a cell holds in none of them goes."""

    cost = 38
    look = Scope.CAGE
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "two": "{cell} and {others} add to {sum}. {cell} cannot be {digits:or}, "
               "as {others} could not make up the rest.",
        "removes": "If {cell} were {digits:or}, {others} could not complete {cage}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step for each open cell."""
        left = state.open_cage(place)
        if left is None or len(left.cells) < 2 or not left.combinations:
            return
        frame = state.frame
        for cell, kept in zip(left.cells, left.kept, strict=True):
            gone = state.candidates[cell] & ~kept
            if gone:
                why: Why = {
                    "cage": frame.puzzle.cages[place], "cell": frame.cells[cell], "digits": Digits(gone),
                    "others": tuple([frame.cells[other] for other in left.cells if other != cell]),
                    "sum": left.total,
                }
                key = "two" if len(left.cells) == 2 else "removes"
                yield self.step(state, key, cage_cites(state, place), why, removes=((cell, gone),))

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The cage still rules these digits out."""
        return cage_still_bars(frame, step, eliminated)
