"""A digit that no combination of a cage can use."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.reasoning.cage_sums import (
    Untold,
    cage_cases,
    cage_cites,
    cage_left,
    cage_still_bars,
    removals,
    untold,
)
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why

_LISTED = 4
"""The most combinations that a sentence lists."""


class ImpossibleDigit(Technique):
    """Several combinations are left, and some candidate is in none of them."""

    cost = 26
    look = Scope.CAGE
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "some": "{cage} is {combinations}, so it cannot hold {absent:or}.",
        "many": "No way to make {cage} uses {absent:or}.",
        "some_left": "What is left of {cage} is {combinations}, so it cannot hold {absent:or}.",
        "many_left": "No way to complete {cage} uses {absent:or}.",
        "some_barred": "{cage} has no {barred:or}, so it is {combinations} and cannot hold {absent:or}.",
        "some_unfit": "{cage} is {combinations}, as {unfit} would not fit its cells, so it cannot hold "
                      "{absent:or}.",
        "some_barred_unfit": "{cage} has no {barred:or}, and {unfit} would not fit its cells, so it is "
                             "{combinations} and cannot hold {absent:or}.",
        "some_left_barred": "What is left of {cage} has no {barred:or}, so it is {combinations} and cannot hold "
                            "{absent:or}.",
        "some_left_unfit": "What is left of {cage} is {combinations}, as {unfit} would not fit its cells, so it "
                           "cannot hold {absent:or}.",
        "some_left_barred_unfit": "What is left of {cage} has no {barred:or}, and {unfit} would not fit its "
                                  "cells, so it is {combinations} and cannot hold {absent:or}.",
    }
    lead = "Sums rule digits out: {items}."
    clauses: ClassVar = {
        "some": "{cage} ({combinations}) cannot hold {absent:or}",
        "many": "{cage} cannot hold {absent:or}",
        "some_left": "{cage} (with {combinations} to come) cannot hold {absent:or}",
        "many_left": "{cage} cannot hold {absent:or} any more",
        "some_barred": "{cage} ({combinations}, with no {barred:or}) cannot hold {absent:or}",
        "some_left_barred": "{cage} ({combinations} to come, with no {barred:or}) cannot hold {absent:or}",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step a cage."""
        left = state.open_cage(place)
        if left is None or len(left.combinations) < 2:
            return
        union = 0
        for combination in left.combinations:
            union |= combination
        removes = removals(state, dict.fromkeys(left.cells, union))
        if removes:
            frame = state.frame
            gone = 0
            for _, mask in removes:
                gone |= mask
            why: Why = {
                "cage": frame.puzzle.cages[place], "absent": Digits(gone), "sum": left.total,
                "combinations": tuple([Digits(combination) for combination in left.combinations]),
            }
            gone_ways = untold(frame, frame.puzzle.cages[place], state.candidates, left.combinations)
            key = _key(left.combinations, gone_ways, begun=len(left.cells) < len(frame.cages[place]))
            yield self.step(state, key, cage_cites(state, place), why | gone_ways.why, removes=removes)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The cage still rules these digits out."""
        return cage_still_bars(frame, step, eliminated)

    def retell(self, frame: Frame, step: Step) -> Step:
        """List the combinations that what is cited leaves, and why there are no others."""
        eliminated = frame.missing(step.cites)
        cage = step.cites.cages[0]
        _, left = cage_left(frame, cage, eliminated)
        gone = untold(frame, cage, frame.lacking(eliminated), left)
        why = step.why | {"combinations": tuple([Digits(combination) for combination in left])} | gone.why
        return replace(step, key=_key(left, gone, begun="_left" in step.key), why=why)


def _key(combinations: tuple[int, ...], gone: Untold, *, begun: bool) -> str:
    """List a few combinations, and no more than that; those of the rest where the cage is partly filled."""
    left = "_left" if begun else ""
    return f"some{left}{gone.key}" if len(combinations) <= _LISTED else f"many{left}"
