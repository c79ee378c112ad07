"""Fixed combination: one set of digits makes the total, so the cage holds exactly these."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import (
    barred,
    cage_cases,
    cage_cites,
    made_of,
    no_other,
    none_has,
    removals,
    told_masks,
    ways_left,
    ways_where,
)
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class FixedCombination(Technique):
    """One combination left for the open cells of a cage."""

    cost = 200
    look = Scope.CAGE
    by_cage = True
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "only": "{cage} can only be {digits:set}{reason}.",
        "rest": "{cells}, the rest of {cage}, add to {sum} and can only be {digits:set}{reason}.",
        "lacks": "All the digits add to {total}, so {cage} holds every one but {absent}.",
        "lacks_too": "Likewise, {cage} holds every one but {absent}.",
    }
    lead = "Some cages can be made in one way only: {items}."
    clauses: ClassVar = {"only": "{made} is {digits:set}{reason}"}
    in_passing: ClassVar = clauses | {
        "rest": "{made} is {digits:set}{reason}",
        "lacks": "{cage} holds every digit but {absent}",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a cage."""
        left = state.open_cage(place)
        if left is None or len(left.combinations) != 1 or len(left.cells) == 1:
            return
        removes = removals(state, dict.fromkeys(left.cells, left.combinations[0]))
        if removes:
            yield self.step(state, "", cage_cites(state, place), {}, removes=removes)

    def told_after(self, last: Step | None, step: Step) -> tuple[str, ...]:
        """What all the digits add to is said once."""
        again = last is not None and (last.technique, last.key, step.key) == (self.name, "lacks", "lacks")
        return self.templates("lacks_too") if again else super().told_after(last, step)

    def repeats(self, step: Step, last: Step) -> bool:
        """The digits of the cage were just named with what they are taken from."""
        return last.key == "only" and last.cites.cages[:1] == step.cites.cages and (
            last.why["digits"] == step.why["digits"])

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The combination is still the only one."""
        left = ways_where(frame, step.cites.cages[0], eliminated)
        return len(left) == 1 and none_has(left, step)

    def whole(self, frame: Frame, step: Step) -> Step:
        """No open cell of the cage has any other digit."""
        return barred(frame, step)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say which digits these are, and why there is no other way."""
        cage, masks = step.cites.cages[0], told_masks(frame, step, masks)
        (digits,) = ways_left(frame, cage, masks)
        key, why = _told(frame, cage, masks, digits)
        return replace(step, key=key, why=why)


def _told(frame: Frame, cage: Cage, masks: Sequence[int], digits: int) -> tuple[str, Why]:
    """Say whether some of the cage is filled, it lacks one digit, or its sum can only ever be made so.

    `digits` are those of the cells that are open where cells hold `masks`.
    """
    open_ = [cell for cell in cage.cells if masks[frame.index[cell]].bit_count() > 1]
    why: Why = {
        "cage": cage, "made": made_of(frame, cage, masks), "digits": Digits(digits),
        "absent": Digits(frame.full & ~digits),
        "sum": frame.made_by(digits), "cells": tuple(open_),
        "total": sum(frame.source.digits),
        "reason": no_other(frame, cage, masks, (digits,)),
    }
    if len(open_) < len(cage.cells):
        return "rest", why
    return "lacks" if len(cage.cells) == frame.size - 1 else "only", why
