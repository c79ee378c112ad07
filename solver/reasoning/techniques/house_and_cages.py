"""A house and its cages: several cages that meet in one house, filled together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import ClassVar

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.joint_consistency import Facts, joint_removals
from cagework.solver.reasoning.joint_steps import joint_cites, joint_why, reworded, still_barred
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class HouseAndCages(Technique):
    """No way of filling the cages, all at once, has this digit here."""

    cost = 96
    weight = 400
    look = Scope.AROUND
    sentences: ClassVar = {
        "cages": "Fill {cages} in every way, with no digit twice where they see each other.",
        "house": "Fill {cages} in every way that gives every digit a place in {house}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """Steps for the cages that reach into a house."""
        frame = state.frame
        if not frame.house_sets[place] & ~state.placed:
            return
        whole = (place,) if frame.whole[place] else ()
        for lean, removes in joint_removals(state, Facts(state.cages_around(place), whole)):
            step = self.step(state, "house" if lean.houses else "cages", joint_cites(state, lean),
                             joint_why(frame, lean), removes=removes)
            yield replace(step, cost=self.cost + 6 * len(lean.cages))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The cages still cannot be filled so."""
        return still_barred(frame, step, eliminated)

    def retell(self, frame: Frame, step: Step) -> Step:
        """Name the cages that are left, and the house only where it is."""
        step = reworded(frame, step)
        return step if step.why.get("house") in step.cites.houses else replace(step, key="cages")
