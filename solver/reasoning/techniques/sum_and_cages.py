"""A sum and its cages: a few innies or outies, with the cages that they are part of."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import ClassVar

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.joint_consistency import Facts, joint_removals
from cagework.solver.reasoning.joint_steps import SUMS, joint_cites, joint_why, reworded, still_barred, way_of_sum
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class SumAndCages(Technique):
    """The cells of a sum have to suit their cages too."""

    cost = 84
    weight = 100
    look = Scope.FEW
    sentences: ClassVar = {
        key: f"{said} Fill {{cages}} in every way that agrees." for key, said in SUMS.items()
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """Steps for the cages that the open cells of an area's balance are in."""
        frame, terms = state.frame, state.open_terms
        area = frame.areas[place]
        if any(terms[one] + terms[other] <= terms[place] for one, other in area.splits):
            return
        balance = state.balance(place)
        cages = tuple(dict.fromkeys([
            number for cell in balance.plus + balance.minus for number in frame.cages_of[cell]
            if frame.totals[number] is not None
        ]))
        houses = tuple([frame.puzzle.houses[number] for number in area.houses])
        for lean, removes in joint_removals(state, Facts(cages, (), balance)):
            if lean.cages:
                why = joint_why(frame, lean) | {"houses": houses}
                step = self.step(state, way_of_sum(balance), joint_cites(state, lean), why, removes=removes)
                yield replace(step, cost=self.cost + 4 * len(lean.cages))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """What is cited still leaves no way."""
        return still_barred(frame, step, eliminated)

    def retell(self, frame: Frame, step: Step) -> Step:
        """Name the cages that are left."""
        return reworded(frame, step)
