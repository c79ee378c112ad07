"""Two cells tied by a rule of their own: what one can hold limits the other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import ClassVar

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Digits, Step, Why


class RelatedPair(Technique):
    """A digit that the other cell has no partner for."""

    cost = 18
    look = Scope.RELATED
    simple = True
    sentences: ClassVar = {
        "removes": "{other} can only be {choices:or}, so by the puzzle’s own rule {cell} cannot be {digits:or}.",
        "placed": "{other} is {choices}, so by the puzzle’s own rule {cell} cannot be {digits:or}.",
    }
    lead = "By the puzzle’s own rule some digits go: {items}."
    clauses: ClassVar = {
        "removes": "{cell} cannot be {digits:or} (as {other} can only be {choices:or})",
        "placed": "{cell} cannot be {digits:or} (as {other} is {choices})",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each cell tied to this one."""
        frame = state.frame
        for first, second, pair in frame.relations:
            if place in (first, second):
                other = second if place == first else first
                reach = _partners(pair.allowed, state.candidates[place], place == first)
                gone = state.candidates[other] & ~reach
                if gone and reach:
                    cites = Cites(state.missing(1 << place, frame.full), pairs=(pair,))
                    choices = Digits(state.candidates[place])
                    why: Why = {
                        "other": frame.cells[place], "cell": frame.cells[other], "digits": Digits(gone),
                        "choices": choices,
                    }
                    key = "removes" if len(choices) > 1 else "placed"
                    yield self.step(state, key, cites, why, removes=((other, gone),))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The other cell still leaves no partner."""
        (pair,) = step.cites.pairs
        (name, gone), = step.removes
        forward = name == pair.second
        other = frame.index[pair.first if forward else pair.second]
        return not gone & _partners(pair.allowed, frame.full & ~eliminated.get(other, 0), forward)


def _partners(allowed: tuple[int, ...], mask: int, forward: bool) -> int:
    """What the one cell can hold given the other's candidates, read from the pair's first cell or back."""
    if forward:
        reach = 0
        for digit, partners in enumerate(allowed):
            if mask >> digit & 1:
                reach |= partners
        return reach
    return sum(1 << digit for digit, partners in enumerate(allowed) if partners & mask)
