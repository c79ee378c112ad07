"""A sum, a house and its cages: as a house and its cages, with a few innies or outies whose sum is known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import set_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.joint_consistency import Facts, joint_removals
from cagework.solver.reasoning.joint_steps import SUMS, joint_cites, joint_why, reworded, still_barred, way_of_sum
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Step


class SumHouseAndCages(Technique):
    """No way of filling the cages so that the sum comes out has this digit here."""

    cost = 140
    weight = 400
    look = Scope.AROUND
    sentences: ClassVar = {
        key: f"{said} Fill {{cages}} in every way that agrees and gives every digit a place in {{house}}."
        for key, said in SUMS.items()
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """Steps for the first balance among the cells of a house's cages that says anything."""
        frame = state.frame
        if not frame.whole[place] or not frame.house_sets[place] & ~state.placed:
            return
        facts = Facts(state.cages_around(place), (place,))
        cells = facts.cells(frame)
        seen = set()
        for number, area in enumerate(frame.areas):
            if not state.few >> number & 1 or place in area.houses:
                continue
            balance = state.balance(number)
            terms = balance.plus + balance.minus
            if terms in seen or set_of(terms) & ~cells:
                continue
            seen.add(terms)
            houses = tuple([frame.puzzle.houses[house] for house in area.houses])
            steps = []
            for lean, removes in joint_removals(state, replace(facts, balance=balance)):
                why = joint_why(frame, lean) | {"houses": houses, "house": frame.puzzle.houses[place]}
                step = self.step(state, way_of_sum(balance), joint_cites(state, lean), why, removes=removes)
                steps.append(replace(step, cost=self.cost + 6 * len(lean.cages)))
            if steps:
                yield from steps
                return

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """What is cited still leaves no way."""
        return still_barred(frame, step, eliminated)

    def retell(self, frame: Frame, step: Step) -> Step:
        """Name the cages that are left."""
        return reworded(frame, step)
