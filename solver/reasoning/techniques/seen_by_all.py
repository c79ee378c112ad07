"""A cell that sees every place a digit has in a house, some by one reason and some by another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why, joined


class SeenByAll(Technique):
    """Wherever the digit goes in the house, the cell sees it."""

    cost = 60
    look = Scope.HOUSE
    sentences: ClassVar = {
        "removes": "In {house}, {digit} can go only in {cells}, and {cell} sees them all, so it is not {digit}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each digit and cell."""
        frame = state.frame
        if not frame.whole[place]:
            return
        inside = frame.house_sets[place]
        for index, everywhere in enumerate(state.digit_places):
            places = everywhere & inside
            targets = everywhere & ~inside
            if not places & places - 1:
                continue
            for cell in members(places):
                targets &= frame.sees[cell]
            for target in members(targets):
                house = frame.puzzle.houses[place]
                own = Cites(state.missing(inside & ~places, 1 << index), (house,))
                cites = joined(own, *(state.link(cell, target) for cell in members(places)))
                why: Why = {"house": house, "digit": index + 1, "cells": state.names(places),
                       "cell": frame.cells[target]}
                yield self.step(state, "removes", cites, why, removes=((target, 1 << index),))

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """Each place of the digit."""
        cells = step.why["cells"]
        return len(cells) if isinstance(cells, tuple) else 1
