"""A cell that sees every place a digit has in a house, some by one reason and some by another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.elsewhere import sight, spots_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why, joined


class SeenByAll(Technique):
    """Wherever the digit goes in the house, the cell sees it."""

    cost = 600
    look = Scope.HOUSE
    sentences: ClassVar = {
        "removes": "In {house}, {digit} can go only in {cells}, and {cell} sees {cells:it|them all} (by {by}), so "
                   "it is not {digit}.",
        "ruled": "In {house}, {digit} can go only in {cells}, and {cell} sees {cells:it|them all}, so it is not "
                 "{digit}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each digit and cell."""
        frame = state.frame
        if not frame.whole[place]:
            return
        inside = frame.house_sets[place]
        for index, everywhere in enumerate(state.digit_places):
            spots = everywhere & inside
            targets = everywhere & ~inside
            if not spots & spots - 1:
                continue
            for cell in members(spots):
                targets &= frame.sees[cell]
            for target in members(targets):
                house = frame.puzzle.houses[place]
                own = Cites(state.missing(inside & ~spots, 1 << index), (house,))
                cites = joined(own, *(state.link(cell, target) for cell in members(spots)))
                why: Why = {"house": house, "digit": index + 1, "cell": frame.cells[target]}
                yield self.step(state, "removes", cites, why, removes=((target, 1 << index),))

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """Each place of the digit."""
        ((_, bit),) = step.removes
        return spots_of(frame, step.cites, step.cites.houses[0], bit.bit_length(), masks).bit_count()

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Name the places that are left, and by which houses and cages the cell sees them."""
        ((cell, bit),) = step.removes
        house, *others = step.cites.houses
        used = spots_of(frame, step.cites, house, bit.bit_length(), masks)
        by = sight(frame, (*others, *step.cites.cages), used, 1 << frame.index[cell])
        why: Why = step.why | {"cells": tuple([frame.cells[one] for one in members(used)]), "by": by}
        return replace(step, key="removes" if by else "ruled", why=why)
