"""Locked candidates: a digit's places in one house all lie in another house or a cage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.elsewhere import (
    cited_elsewhere,
    cover,
    elsewhere,
    emptied,
    group_cites,
    spots_of,
    without_idle,
)
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why, joined


class Locked(Technique):
    """The digit goes in the overlap, so nowhere else in the other group."""

    cost = 400
    look = Scope.HOUSE
    simple = True
    by_loss = True
    question = "Where in {house} can {digit} go?"
    sentences: ClassVar = {
        "removes": "In {house}, {digit} can go only in {cells}, so no other cell {where} can be {digit}.",
    }
    answers: ClassVar = {"removes": "Only in {cells}, so no other cell {where} can be {digit}."}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each digit, for all houses and cages that hold its places."""
        frame = state.frame
        if not frame.whole[place]:
            return
        inside, common = frame.house_sets[place], frame.common
        for index, everywhere in enumerate(state.digit_places):
            places = everywhere & inside
            outside = everywhere ^ places
            if outside and places & places - 1:
                seen, homes = common(places)
                outside &= seen
                if outside:
                    yield from self._step(state, place, index, homes & ~(1 << place), outside)

    def tells(self, state: State, everywhere: int, inside: int) -> bool:
        """The places that are left, more than one, all see another."""
        return bool(inside & inside - 1 and (everywhere ^ inside) & state.frame.common(inside)[0])

    def _step(self, state: State, place: int, index: int, homes: int, outside: int) -> Iterator[Step]:
        """The step where some of the places lie in one house or cage more, or in several."""
        frame = state.frame
        chosen, seen = cover(frame, members(homes), outside)
        if not chosen:
            return
        house, places = frame.puzzle.houses[place], state.digit_places[index] & frame.house_sets[place]
        missing = state.missing(frame.house_sets[place] & ~places, 1 << index)
        cites = joined(Cites(missing, (house,)), group_cites(frame, chosen))
        why: Why = {"house": house, "digit": index + 1, "cells": state.names(places),
                    "where": elsewhere(frame, chosen)}
        yield self.step(state, "removes", cites, why,
                        removes=[(cell, 1 << index) for cell in members(outside & ~seen)])

    def whole(self, frame: Frame, step: Step) -> Step:
        """No other cell there has the digit."""
        house, ((_, bit), *_) = step.cites.houses[0], step.removes
        used = spots_of(frame, step.cites, house, bit.bit_length())
        return replace(step, removes=emptied(frame, step.cites, house, used, bit))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Name the places that are left, and no house or cage in which nothing goes any more."""
        house, *others = step.cites.houses
        ((_, bit), *_) = step.removes
        used = spots_of(frame, step.cites, house, bit.bit_length(), masks)
        where = cited_elsewhere(frame, replace(step.cites, houses=tuple(others)), None, used, step.removes)
        why = step.why | {"cells": tuple([frame.cells[cell] for cell in members(used)]), "where": where}
        return replace(step, why=why, cites=without_idle(step.cites, house, where))
