"""One digit, two linked pairs: two houses with two places each, one place of either in sight of the other."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why, joined


class LinkedPairs(Technique):
    """The two near places cannot both hold the digit, so one of the far ones does."""

    cost = 780
    cases = 4
    look = Scope.DIGIT
    sentences: ClassVar = {
        "removes": "{digit} has two places in {first} and two in {second}. {near} see each other, so at least one "
                   "of {far} is {digit}. {cells} {cells:sees|see} both and cannot be {digit}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each two pairs and way round that eliminates something."""
        frame = state.frame
        everywhere = state.digit_places[place]
        links = [
            (number, both) for number, inside in enumerate(frame.house_sets)
            if frame.whole[number] and (both := everywhere & inside).bit_count() == 2
        ]
        for (one, first), (other, second) in combinations(links, 2):
            if first & second:
                continue
            for near in members(first):
                for beside in members(second & frame.sees[near]):
                    far = (first ^ 1 << near).bit_length() - 1
                    beyond = (second ^ 1 << beside).bit_length() - 1
                    targets = everywhere & frame.sees[far] & frame.sees[beyond] & ~(first | second)
                    if targets:
                        yield self._step(state, place, (one, near, far), (other, beside, beyond), targets)

    def _step(
        self, state: State, index: int, one: tuple[int, int, int], other: tuple[int, int, int], targets: int
    ) -> Step:
        frame = state.frame
        bit = 1 << index
        houses = frame.puzzle.houses[one[0]], frame.puzzle.houses[other[0]]
        outside = (frame.house_sets[one[0]] | frame.house_sets[other[0]]) & ~state.digit_places[index]
        links = [state.link(one[1], other[1])]
        for target in members(targets):
            links += state.link(one[2], target), state.link(other[2], target)
        cites = joined(Cites(state.missing(outside, bit), houses), *links)
        cells = frame.cells
        why: Why = {
            "digit": index + 1, "first": houses[0], "second": houses[1], "near": (cells[one[1]], cells[other[1]]),
            "far": (cells[one[2]], cells[other[2]]), "cells": state.names(targets),
        }
        return self.step(state, "removes", cites, why, removes=[(cell, bit) for cell in members(targets)])
