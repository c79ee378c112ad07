"""Fixed combination: one set of digits makes the total, so the cage holds exactly these."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.combine import combinations
from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import cage_cases, cage_cites, cage_left, removals
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import OpenCage, State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class FixedCombination(Technique):
    """One combination left for the open cells of a cage."""

    cost = 20
    look = Scope.CAGE
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "only": "{cage} can be made in one way only, with {digits}.",
        "left": "Only one way is left to make {cage}, with {digits}.",
        "rest": "{cells}, the rest of {cage}, add to {sum} and must be {digits}.",
        "lacks": "All the digits add to {total}, so {cage} holds every one but {absent}.",
    }
    lead = "Some cages can be made in one way only: {items}."
    clauses: ClassVar = {"only": "{cage} with {digits}", "left": "{cage} now with {digits}"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a cage."""
        left = state.open_cage(place)
        if left is None or len(left.combinations) != 1 or len(left.cells) == 1:
            return
        digits = left.combinations[0]
        removes = removals(state, dict.fromkeys(left.cells, digits))
        if removes:
            frame = state.frame
            cage = frame.puzzle.cages[place]
            why: Why = {
                "cage": cage, "digits": Digits(digits), "absent": Digits(frame.full & ~digits), "sum": left.total,
                "cells": tuple([frame.cells[cell] for cell in left.cells]),
                "total": frame.size * (frame.size + 1) // 2,
            }
            yield self.step(state, _key(frame, cage, left), cage_cites(state, place), why, removes=removes)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The combination is still the only one."""
        reach, left = cage_left(frame, step.cites.cages[0], eliminated)
        return len(left) == 1 and all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)


def _key(frame: Frame, cage: Cage, left: OpenCage) -> str:
    """Say whether some of the cage is filled, it lacks one digit, or its sum can only ever be made so."""
    if len(left.cells) < len(cage.cells):
        return "rest"
    if len(cage.cells) == frame.size - 1:
        return "lacks"
    return "only" if len(combinations(frame.size, len(cage.cells), left.total)) == 1 else "left"
