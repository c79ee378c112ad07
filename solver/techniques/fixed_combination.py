"""Fixed combination: one set of digits makes the total, so the cage holds exactly these."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import ClassVar

from cagework.solver.frame import Frame
from cagework.solver.state import State
from cagework.solver.step import Digits, Step, Why
from cagework.solver.sums import cage_cites, cage_left, removals
from cagework.solver.technique import Look, Technique


class FixedCombination(Technique):
    """One combination left for the open cells of a cage."""

    cost = 20
    look = Look.CAGE
    simple = True
    sentences: ClassVar = {
        "only": "Only {digits} can make {cage}.",
        "rest": "Only {digits} can complete {cage}: the open cells {cells} add to {sum}.",
        "lacks": "{cage} has room for every digit but {absent}, since all digits add to {total}.",
    }

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
            key = "rest" if len(left.cells) < len(cage.cells) else (
                "lacks" if len(cage.cells) == frame.size - 1 else "only")
            yield self.step(state, key, cage_cites(state, place), why, removes=removes)

    def holds(self, frame: Frame, step: Step, struck: Mapping[int, int]) -> bool:
        """The combination is still the only one."""
        reach, left = cage_left(frame, step.cites.cages[0], struck)
        return len(left) == 1 and all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)
