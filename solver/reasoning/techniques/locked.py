"""Locked candidates: a digit's places in one house all lie in another house or a cage (pointing, claiming)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why


class Locked(Technique):
    """The digit goes in the overlap, so nowhere else in the other group."""

    cost = 40
    look = Scope.HOUSE
    simple = True
    question = "Where in {house} can {digit} go?"
    sentences: ClassVar = {
        "removes": "In {house}, {digit} can go only in {cells}, which lie in {group}, "
                   "so no other cell of {group} is {digit}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each digit and each other group."""
        frame = state.frame
        if not frame.whole[place]:
            return
        inside = frame.house_sets[place]
        for index, everywhere in enumerate(state.digit_places):
            places = everywhere & inside
            outside = everywhere & ~inside
            if not outside or not places & places - 1:
                continue
            for cell in members(places):
                outside &= frame.sees[cell]
                if not outside:
                    break
            else:
                yield from self._groups(state, place, index, places, outside)

    def _groups(self, state: State, place: int, index: int, places: int, outside: int) -> Iterator[Step]:
        """A step for each house, then each cage, that holds all places and some of the targets."""
        frame = state.frame
        first = (places & -places).bit_length() - 1
        house = frame.puzzle.houses[place]
        inside = frame.house_sets[place]
        why: Why = {"house": house, "digit": index + 1, "cells": state.names(places)}
        for number in frame.houses_of[first]:
            targets = outside & frame.house_sets[number]
            if targets and number != place and not places & ~frame.house_sets[number]:
                other = frame.puzzle.houses[number]
                eliminated = state.missing(inside & ~frame.house_sets[number], 1 << index)
                yield self.step(state, "removes", Cites(eliminated, (house, other)), why | {"group": other},
                                removes=[(cell, 1 << index) for cell in members(targets)])
                outside &= ~targets
        for number in frame.cages_of[first]:
            targets = outside & frame.cage_sets[number]
            if targets and not places & ~frame.cage_sets[number]:
                cage = frame.puzzle.cages[number]
                eliminated = state.missing(inside & ~frame.cage_sets[number], 1 << index)
                yield self.step(state, "removes", Cites(eliminated, (house,), (cage,)), why | {"group": cage},
                                removes=[(cell, 1 << index) for cell in members(targets)])
