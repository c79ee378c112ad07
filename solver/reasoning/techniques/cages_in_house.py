"""Two cages of one house: what every, or no, pair of their combinations allows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.cage_sums import (
    MOST_LISTED,
    cage_cases,
    cage_cites,
    cage_left,
    made_of,
    ways_left,
)
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import OpenCage, State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Digits, Step, Why, joined

_Sets = tuple[int, ...]


class CagesInHouse(Technique):
    """Both cages' open cells lie in the house, so their combinations share no digit."""

    cost = 660
    look = Scope.HOUSE
    many_cases = True
    sentences: ClassVar = {
        "uses": "In {house}, {one} and {two} share no digit. Whichever way they are made, they use {digits} "
                "between them, so no other cell of {house} can be {digits:or}.",
        "uses_few": "In {house}, {one} is {ways} and {two} is {ways_too}, and they share no digit. Either way "
                    "they use {digits} between them, so no other cell of {house} can be {digits:or}.",
        "bars": "In {house}, {one} and {two} share no digit. "
                "With {digits:or} in {cells}, {two} could not be made.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """Steps for each pair of cages in the house."""
        frame = state.frame
        inside = frame.house_sets[place]
        cages: list[tuple[int, OpenCage]] = []
        for number in {number for cell in frame.houses[place] for number in frame.cages_of[cell]}:
            left = state.open_cage(number)
            if left and 2 <= len(left.combinations) <= 12 and not set_of(left.cells) & ~inside:
                cages.append((number, left))
        for (one, first), (two, second) in combinations(sorted(cages, key=lambda cage: cage[0]), 2):
            always, with_one, with_two = _together(first.combinations, second.combinations)
            if not with_one:
                continue
            yield from self._uses(state, place, (one, two), always, set_of(first.cells + second.cells))
            yield from self._bars(state, place, one, two, first, with_one)
            yield from self._bars(state, place, two, one, second, with_two)

    def _uses(self, state: State, place: int, pair: tuple[int, int], always: int, cells: int) -> Iterator[Step]:
        frame = state.frame
        removes = [
            (cell, gone) for cell in members(frame.house_sets[place] & ~cells & ~state.placed)
            if (gone := state.candidates[cell] & always)
        ]
        if removes:
            digits = 0
            for _, gone in removes:
                digits |= gone
            house = frame.puzzle.houses[place]
            one, two = (frame.puzzle.cages[number] for number in pair)
            cites = joined(Cites(houses=(house,)), *(cage_cites(state, number) for number in pair))
            why: Why = {"house": house, "one": one, "two": two, "digits": Digits(digits)}
            yield self.step(state, "uses", cites, why, removes=removes)

    def _bars(
        self, state: State, place: int, one: int, two: int, left: OpenCage, allowed: int
    ) -> Iterator[Step]:
        frame = state.frame
        removes = [(cell, gone) for cell in left.cells if (gone := state.candidates[cell] & ~allowed)]
        if removes:
            digits = 0
            for _, gone in removes:
                digits |= gone
            house = frame.puzzle.houses[place]
            cites = joined(Cites(houses=(house,)), cage_cites(state, one), cage_cites(state, two))
            why: Why = {
                "house": house, "one": frame.puzzle.cages[one], "two": frame.puzzle.cages[two],
                "digits": Digits(digits), "cells": tuple([frame.cells[cell] for cell, _ in removes]),
            }
            yield self.step(state, "bars", cites, why, removes=removes)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the one, with each way to make the other."""
        one, two = step.cites.cages[:2]
        return cage_cases(frame, one, masks) * cage_cases(frame, two, masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The two cages, with just these digits missing, still say the same."""
        if len(step.cites.cages) < 2 or not step.cites.houses:
            return False
        inside = {frame.index[cell] for cell in step.cites.houses[0].cells}
        sets = []
        for cage in step.cites.cages:
            _, left = cage_left(frame, cage, eliminated)
            cells = map(frame.index.__getitem__, cage.cells)
            masks = {cell: frame.full & ~eliminated.get(cell, 0) for cell in cells}
            if not left or any(cell not in inside for cell, mask in masks.items() if mask & mask - 1):
                return False
            sets.append(left)
        always, with_one, _ = _together(sets[0], sets[1])
        allowed = with_one if step.key == "bars" else ~always
        return with_one != 0 and all(not mask & allowed for _, mask in step.removes)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """List the ways to make both cages, where they are few."""
        masks = self.told_by(frame, step, masks)
        one, two = step.cites.cages[:2]
        first, second = (ways_left(frame, cage, masks) for cage in (one, two))
        few = 1 < len(first) <= MOST_LISTED and 1 < len(second) <= MOST_LISTED
        key = step.key.removesuffix("_few")
        why: Why = {"one": made_of(frame, one, masks), "two": made_of(frame, two, masks),
                    "ways": tuple(map(Digits, first)), "ways_too": tuple(map(Digits, second))}
        return replace(step, key=f"{key}_few" if few and key == "uses" else key, why=step.why | why)


def _together(one: _Sets, two: _Sets) -> tuple[int, int, int]:
    """The digits every pair of disjoint combinations uses, and those each cage can use in any such pair."""
    always, with_one, with_two = -1, 0, 0
    for first in one:
        for second in two:
            if not first & second:
                always &= first | second
                with_one |= first
                with_two |= second
    return always, with_one, with_two
