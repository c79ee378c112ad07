"""Sharing out a house: all cages that reach into it, and the digits each can take so that all are used."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import ClassVar

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.house_partition import parcels_of, shared_out
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import cage_cites
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Digits, Step, Why, joined


class SharedOut(Technique):
    """No way to share the digits among the cages gives this cell this digit."""

    cost = 70
    weight = 20
    look = Scope.AROUND
    sentences: ClassVar = {
        "removes": "{cages} {cages:shares|share} out the digits of {house}, "
                   "but never so that {cell} is {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each cell that loses a digit."""
        frame = state.frame
        if not frame.whole[place] or not frame.house_sets[place] & ~state.placed:
            return
        inside = frame.house_sets[place]
        numbers = state.cages_around(place)
        house = frame.puzzle.houses[place]
        cages = [frame.puzzle.cages[number] for number in numbers]
        reach = _reach(frame, place, numbers, state.candidates)
        for cell, mask in reach.items():
            gone = state.candidates[cell] & ~mask
            if gone:
                own = Cites(state.missing(inside, frame.full), (house,))
                cites = joined(own, *(cage_cites(state, number) for number in numbers))
                why: Why = {"house": house, "cages": tuple(cages), "digits": Digits(gone)}
                why["cell"] = frame.cells[cell]
                yield self.step(state, "removes", cites, why, removes=((cell, gone),))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The cages still cannot be shared out so."""
        if not step.cites.houses:
            return False
        masks = frame.lacking(eliminated)
        numbers = [frame.cage_number(cage) for cage in step.cites.cages]
        reach = _reach(frame, frame.house_number(step.cites.houses[0]), numbers, masks)
        return bool(reach) and all(
            not reach.get(frame.index[cell], masks[frame.index[cell]]) & mask for cell, mask in step.removes
        )

    def retell(self, frame: Frame, step: Step) -> Step:
        """Name the cages that are left."""
        return replace(step, why=step.why | {"cages": step.cites.cages})


def _reach(frame: Frame, house: int, cages: Iterable[int], masks: list[int]) -> dict[int, int]:
    """What the open cells of a house can hold by all ways of sharing it out."""
    cells = frame.houses[house]
    digits = frame.full
    for cell in cells:
        if not masks[cell] & masks[cell] - 1:
            digits &= ~masks[cell]
    cut = [(frame.cages[number], frame.totals[number]) for number in cages]
    return shared_out(parcels_of(cells, cut, masks), digits, masks)
