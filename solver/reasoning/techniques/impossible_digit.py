"""A digit that no combination of a cage can use."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import (
    MOST_LISTED,
    barred,
    barred_by_notes,
    cage_cases,
    cage_cites,
    no_way_has,
    removals,
    told_masks,
    ways_left,
    ways_why,
)
from cagework.solver.reasoning.filling import union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import NAMES, Scope, Technique
from cagework.solver.step import Digits, Step, Value, Why


class ImpossibleDigit(Technique):
    """Several combinations are left, and some candidate is in none of them."""

    cost = 260
    look = Scope.CAGE
    by_cage = True
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "some": "{made} is {combinations}{reason}, so it cannot hold {absent:or}.",
        "many": "No way to make {made} uses {absent:or}.",
    }
    lead = "Sums rule digits out: {items}."
    clauses: ClassVar = {
        "some": "{made} ({combinations}{reason}) cannot hold {absent:or}",
        "many": "{made} cannot hold {absent:or}",
    }
    in_passing: ClassVar = {
        "some": "{made} is {combinations}{reason}",
        "many": "no way to make {made} uses {absent:or}",
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
            yield self.step(state, "", cage_cites(state, place), {}, removes=removes)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """No way to make the cage has these digits yet."""
        return no_way_has(frame, step, eliminated)

    def whole(self, frame: Frame, step: Step) -> Step:
        """No open cell of the cage has a digit of no way."""
        return barred(frame, step)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """List the combinations that are left, and say why there are no others."""
        cage, masks = step.cites.cages[0], told_masks(frame, step, masks)
        left = ways_left(frame, cage, masks)
        why: Why = {"cage": cage, "absent": Digits(union_of(mask for _, mask in step.removes))}
        return replace(step, key=_key(left), why=why | ways_why(frame, cage, masks, left))

    def as_told(self, frame: Frame, said: Step, masks: Sequence[int]) -> Step:
        """It strikes whatever is in none of the ways that are left, as the notes stand."""
        more = barred_by_notes(frame, said, masks)
        return replace(more, why=more.why | {"absent": Digits(union_of(mask for _, mask in more.removes))})

    def is_said_by(self, step: Step, after: Step) -> bool:
        """One way is left, and its digits are named next."""
        return (after.cites.cages[:1] == step.cites.cages and after.key in NAMES | {"lone", "rest"}
                and step.why["combinations"] == (after.why["digits"],))

    def listed(self, steps: Sequence[Step]) -> Sequence[Step]:
        """What the same ways of a cage rule out, together."""
        found: dict[tuple[Cage, Value], Step] = {}
        for step in steps:
            key = step.cites.cages[0], step.why["combinations"]
            before = found.get(key)
            gone = (before.removes if before else ()) + step.removes
            found[key] = replace(step, removes=gone, why=step.why | {
                "absent": Digits(union_of(mask for _, mask in gone))})
        return list(found.values())


def _key(combinations: tuple[int, ...]) -> str:
    """List a few combinations, and no more than that."""
    return "some" if len(combinations) <= MOST_LISTED else "many"
