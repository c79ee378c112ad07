"""X-wing: in two rows a digit goes only in two columns, or the other way about."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.reasoning.fish import fish
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class XWing(Technique):
    """A fish of size two."""

    cost = 720
    cases = 2
    look = Scope.DIGIT
    sentences: ClassVar = {
        "removes": "In {base}, {digit} can go only in {cover}, once in each, "
                   "so no other cell of {cover} is {digit}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each way to choose the lines."""
        for cites, why, removes in fish(state, place, 2):
            yield self.step(state, "removes", cites, why, removes=removes)
