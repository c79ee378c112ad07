"""The 45 rule and a rule that compares: the sum of some cells bounds what others make."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cell, Sum
from cagework.solver.reasoning.balancing import balance_cites, balance_of, balance_told, cited_groups, with_sight
from cagework.solver.reasoning.cage_sums import removals
from cagework.solver.reasoning.frame import AreaKind, Frame
from cagework.solver.reasoning.rule_sums import is_more, open_sum
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.sums import BY, IN, OUT, balance_why, is_new, key_of
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Claim, Step, joined


@dataclass(frozen=True, slots=True)
class _Compared:
    """One side of a sum that compares: what its cells make, and so the other, which makes more where it is `over`
    that.
    """

    cells: tuple[Cell, ...]
    makes: int
    other: Sum
    over: bool


class ComparedCage(Technique):
    """The cells that houses leave over are all that is open of a cage, which is compared with another."""

    cost = 570
    look = Scope.GRID
    cases = 3
    unites = True
    weight = 5
    sentences: ClassVar = {
        **IN, **OUT, **BY,
        "+over": "{rule} {cells} {cells:is|make} more than {makes}.",
        "+under": "{rule} {cells} {cells:is|make} less than {makes}.",
        "+over_with": "With {filled:list} that makes {makes}; {rule} {cells} {cells:is|make} more.",
        "+under_with": "With {filled:list} that makes {makes}; {rule} {cells} {cells:is|make} less.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each sum of cells that are compared, and each cage that these are compared with."""
        frame = state.frame
        for number, one in enumerate(frame.puzzle.sums):
            if not is_more(frame, one):
                continue
            open_ = set_of(frame.sums[number]) & ~state.placed
            for area in members(_near(state, open_) & (state.few | state.many)):
                if frame.areas[area].kind is AreaKind.RUNS or not is_new(state, area):
                    continue
                balance = state.balance(area)
                compared = _compared(frame, one, balance, state.candidates)
                if compared is None:
                    continue
                filled = set_of(frame.index[cell] for cell in compared.cells) & state.placed
                beside = set_of(frame.index[cell] for cell in compared.other.plus)
                known = Cites(state.missing(filled | beside, frame.full), sums=(one,))
                cites = with_sight(frame, joined(balance_cites(state, balance, ()), known), members(beside))
                reach = open_sum(frame, compared.other, state.candidates).reach(
                    state.candidates, cited_groups(frame, cites))
                removes = removals(state, reach)
                if removes and 0 not in reach.values():
                    yield self.step(state, "", cites, {}, removes=removes)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The sum still makes what is compared, and that still rules these digits out."""
        masks = frame.lacking(eliminated)
        balance, held, _ = balance_of(frame, step, masks)
        compared = _compared(frame, _rule(step), balance, masks)
        if compared is None or 0 in held.values():
            return False
        reach = open_sum(frame, compared.other, masks).reach(masks, cited_groups(frame, step.cites))
        return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in step.removes)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say the sum as it stands, what of the cage is filled besides, and how the other compares."""
        balance, known = balance_told(frame, step, masks), masks
        compared = _compared(frame, _rule(step), balance, known)
        if compared is None:
            known = frame.cited(step.cites)
            balance, _, _ = balance_of(frame, step, known)
            compared = _compared(frame, _rule(step), balance, known)
        assert compared is not None, "it was found so"
        open_ = balance.plus + balance.minus
        filled = tuple([Claim(cell, known[frame.index[cell]].bit_length(), holds=True)
                       for cell in compared.cells if frame.index[cell] not in open_])
        why = balance_why(frame, step.cites.additions[0], balance) | {
            "cells": compared.other.plus, "makes": frame.told(compared.makes, len(compared.cells)),
            "filled": filled}
        key = f"{key_of(frame, balance)}+{'over' if compared.over else 'under'}{'_with' if filled else ''}"
        return replace(step, key=key, why=why)


def _near(state: State, open_: int) -> int:
    """The areas in which some cells, as bits, count."""
    near = 0
    for cell in members(open_):
        near |= state.frame.area_bits[cell]
    return near


def _rule(step: Step) -> Sum:
    """The sum that compares."""
    return next(one for one in step.cites.sums if len(one.totals) > 1)


def _compared(frame: Frame, one: Sum, balance: Balance, masks: Sequence[int]) -> _Compared | None:
    """What a balance that leaves just the open cells of one side of a sum says of that; None where it does not."""
    open_ = {frame.cells[cell] for cell in balance.plus + balance.minus}
    if not open_ or (balance.plus and balance.minus):
        return None
    for over, (side, other) in ((False, (one.plus, one.minus)), (True, (one.minus, one.plus))):
        rest = [masks[frame.index[cell]] for cell in side if cell not in open_]
        if open_ <= set(side) and all(mask.bit_count() == 1 for mask in rest):
            makes = abs(balance.total) + sum(map(int.bit_length, rest))
            totals = [makes + total if over else makes - total for total in one.totals]
            return _Compared(side, makes, Sum(other, (), tuple(sorted(totals))), over)
    return None
