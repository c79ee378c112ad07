"""The 45 rule and combinations: a digit that every way to make the sum of a few innies or outies uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.filling import fits
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import balance_cases, balance_cites, balance_of, balance_why, open_groups
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class NeededInSum(Technique):
    """The open cells lie in one house or cage, so they act as a cage of their own."""

    cost = 54
    look = Scope.FEW
    many_cases = True
    sentences: ClassVar = {
        "innies": "By the sum of {houses}, {innies} add to {sum}. That takes {digits}, "
                  "so no other cell of {house} can be {digits:or}.",
        "outies": "By the sum of the cages over {houses}, {outies}, which stick out, add to {sum}. "
                  "That takes {digits}, so no other cell of {house} can be {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each house that loses digits."""
        frame = state.frame
        terms, area = state.open_terms, frame.areas[place]
        if any(terms[one] + terms[other] <= terms[place] for one, other in area.splits):
            return
        balance = state.balance(place)
        if balance.plus and balance.minus:
            return
        cells = balance.plus + balance.minus
        together = set_of(cells)
        if not any(not together & ~group for group in open_groups(frame, balance)):
            return
        kept, left = fits(tuple([state.candidates[cell] for cell in cells]), abs(balance.total))
        for house, digits in self._homes(state, cells, kept, left).items():
            removes = [
                (cell, gone) for cell in members(frame.house_sets[house] & ~together & ~state.placed)
                if (gone := state.candidates[cell] & digits)
            ]
            if removes:
                name = frame.puzzle.houses[house]
                cites = balance_cites(state, balance, cells)
                if name not in cites.houses:
                    cites = replace(cites, houses=(*cites.houses, name))
                why: Why = balance_why(state, balance) | {"house": name, "digits": Digits(digits)}
                yield self.step(state, "innies" if balance.plus else "outies", cites, why, removes=removes)

    def _homes(
        self, state: State, cells: tuple[int, ...], kept: tuple[int, ...], left: tuple[int, ...]
    ) -> dict[int, int]:
        """House -> digits needed in the sum, all of whose places there lie in the house."""
        frame = state.frame
        needed = frame.full if left else 0
        for combination in left:
            needed &= combination
        homes: dict[int, int] = {}
        for index in members(needed):
            places = set_of(cell for cell, mask in zip(cells, kept, strict=True) if mask >> index & 1)
            for house in frame.houses_of[places.bit_length() - 1]:
                if not places & ~frame.house_sets[house]:
                    homes[house] = homes.get(house, 0) | 1 << index
        return homes

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the sum."""
        return balance_cases(frame, masks, step)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The sum still needs the digits, and they still have no place in it outside the house."""
        balance, masks, groups = balance_of(frame, step, eliminated)
        cells = balance.plus + balance.minus
        together = set_of(cells)
        if (balance.plus and balance.minus) or not any(not together & ~group for group in groups):
            return False
        kept, left = fits(tuple([masks[cell] for cell in cells]), abs(balance.total))
        gone = 0
        for _, mask in step.removes:
            gone |= mask
        home = step.why["house"]
        inside = {frame.index[cell] for house in step.cites.houses if house == home for cell in house.cells}
        return bool(left) and all(not gone & ~combination for combination in left) and all(
            cell in inside for cell, mask in zip(cells, kept, strict=True) if mask & gone
        )
