"""The 45 rule and combinations: a digit that every way to make the sum of a few innies or outies uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import reduce
from operator import and_
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.balancing import (
    balance_cases,
    balance_cites,
    balance_of,
    balance_told,
    open_groups,
)
from cagework.solver.reasoning.cage_sums import MOST_LISTED, no_other_filling
from cagework.solver.reasoning.elsewhere import cover, elsewhere, emptied, group_cites
from cagework.solver.reasoning.filling import fits, union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.sums import BY, IN, IN_AND_OUT, OUT, balance_why, is_new, key_of
from cagework.solver.reasoning.technique import MOST_NAMED, Scope, Technique
from cagework.solver.step import Cites, Digits, Step, joined


class NeededInSum(Technique):
    """The open cells lie in one house or cage, so they act as a cage of their own."""

    cost = 540
    look = Scope.FEW
    many_cases = True
    sentences: ClassVar = {
        **IN, **OUT, **IN_AND_OUT, **BY,
        "+needs": "Every way to make that sum takes {digits}, so no other cell {where} can be {digits:or}.",
        "+needs_few": "Every way to make that sum ({combinations}{reason}) takes {digits}, so no other cell "
                      "{where} can be {digits:or}.",
        "set": "{cells} are {digits:set}, so no other cell {where} can be {digits:or}.",
        "so": "So no other cell {where} can be {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for digits that go from the same houses."""
        frame = state.frame
        if not is_new(state, place):
            return
        balance = state.balance(place)
        if balance.plus and balance.minus:
            return
        cells = balance.plus + balance.minus
        together = set_of(cells)
        if not any(not together & ~group for group in open_groups(frame, balance)):
            return
        kept, left = fits(tuple([state.candidates[cell] for cell in cells]), abs(balance.total))
        for homes, digits in self._homes(state, cells, kept, left).items():
            taken = together | state.placed
            removes = {cell: gone for house in members(homes) for cell in members(frame.house_sets[house] & ~taken)
                       if (gone := state.candidates[cell] & digits)}
            if removes:
                chosen, _ = cover(frame, members(homes), set_of(removes))
                cites = balance_cites(state, balance, cells)
                cites = joined(cites, group_cites(frame, chosen))
                yield self.step(state, "", cites, {}, removes=removes.items())

    def _homes(
        self, state: State, cells: tuple[int, ...], kept: tuple[int, ...], left: tuple[int, ...]
    ) -> dict[int, int]:
        """Houses (as bits) -> digits needed in the sum, all of whose places there lie in each of them."""
        frame = state.frame
        homes: dict[int, int] = {}
        for index in members(reduce(and_, left)) if left else ():
            inside = -1
            for cell, mask in zip(cells, kept, strict=True):
                if mask >> index & 1:
                    inside &= frame.house_bits[cell]
            homes[inside] = homes.get(inside, 0) | 1 << index
        return homes

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the sum."""
        return balance_cases(frame, masks, step)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The sum still needs the digits, and all that lose them still see each place they have in it."""
        balance, masks, groups = balance_of(frame, step, frame.lacking(eliminated))
        cells = balance.plus + balance.minus
        together = set_of(cells)
        if (balance.plus and balance.minus) or not any(not together & ~group for group in groups):
            return False
        kept, left = fits(tuple([masks[cell] for cell in cells]), abs(balance.total))
        if not left or any(_digits(step) & ~combination for combination in left):
            return False
        houses = [set_of(map(frame.index.__getitem__, house.cells)) for house in step.cites.houses]
        for name, mask in step.removes:
            used = set_of(cell for cell, held in zip(cells, kept, strict=True) if held & mask)
            target = 1 << frame.index[name]
            if not any(not (used | target) & ~house for house in houses):
                return False
        return True

    def whole(self, frame: Frame, step: Step) -> Step:
        """No other cell of these houses has the digits."""
        cited, held, _ = balance_of(frame, step, frame.cited(step.cites))
        cells = cited.plus + cited.minus
        kept, _ = fits(tuple([held[cell] for cell in cells]), abs(cited.total))
        used = set_of(cell for cell, mask in zip(cells, kept, strict=True) if mask & _digits(step))
        houses = Cites(step.cites.eliminated, step.cites.houses)
        return replace(step, removes=emptied(frame, houses, None, used, _digits(step)))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what is open now, and which houses lose something."""
        balance = balance_told(frame, step, masks)
        targets = set_of(frame.index[cell] for cell, _ in step.removes)
        cited, held, _ = balance_of(frame, step, frame.cited(step.cites))
        cells = cited.plus + cited.minus
        kept, _ = fits(tuple([held[cell] for cell in cells]), abs(cited.total))
        used = set_of(cell for cell, mask in zip(cells, kept, strict=True) if mask & _digits(step))
        homes = [number for number in map(frame.house_number, step.cites.houses)
                 if not used & ~frame.house_sets[number]]
        chosen, _ = cover(frame, homes, targets)
        why = balance_why(frame, step.cites.additions[0], balance) | {
            "digits": Digits(_digits(step)), "where": elsewhere(frame, chosen)}
        open_ = balance.plus + balance.minus
        noted = union_of(masks[cell] for cell in open_)
        gone = {frame.index[cell]: mask for cell, mask in step.removes}
        beside = members(union_of(frame.group_sets[number] for number in chosen) & ~used)
        all_go = not any(masks[cell] & noted & ~gone.get(cell, 0) for cell in beside)
        if all_go and used == set_of(open_) and noted.bit_count() == len(open_) <= MOST_NAMED:
            return replace(step, key="set", why=why | {"digits": Digits(noted)})
        held = {cell: masks[cell] for cell in open_}
        _, ways = fits(tuple(held.values()), abs(balance.total))
        reason = no_other_filling(frame, held, abs(balance.total), 0, ways)
        few = 0 < len(ways) <= MOST_LISTED and not reason.lacks and not any(_digits(step) & ~way for way in ways)
        why |= {"combinations": tuple(map(Digits, ways)), "reason": reason} if few else {}
        return replace(step, key=f"{key_of(frame, balance)}+needs{'_few' * few}", why=why)


def _digits(step: Step) -> int:
    """The digits that go."""
    return union_of(mask for _, mask in step.removes)
