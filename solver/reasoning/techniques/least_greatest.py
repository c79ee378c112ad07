"""The 45 rule with many cells left open: the least and greatest that distinct cells of a house can hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from cagework.solver.reasoning.balancing import (
    Groups,
    balance_cites,
    balance_of,
    balance_parts,
    balance_told,
    group_range,
    open_groups,
)
from cagework.solver.reasoning.filling import distinct_range
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.sums import IN, IN_AND_OUT, OUT, balance_why, is_new, key_of
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class LeastGreatest(Technique):
    """All but one cell of a sum at their least, or at their greatest, leave that cell only some digits."""

    cost = 62
    cases = 2
    weight = 5
    look = Scope.MANY
    sentences: ClassVar = {
        **IN, **OUT, **IN_AND_OUT,
        "+rest": "All but {cell} make {least} to {most}, so {cell} is not {digits:or}.",
        "+ends": "However small or great the others are, {cell} is not {digits:or}.",
        "+low": "{beside} {beside:is|make} at most {apart} and {across} {across:is|make} at least {away}, so "
                "{cell} is at least {bound}.",
        "+high": "{beside} {beside:is|make} at least {apart} and {across} {across:is|make} at most {away}, so "
                 "{cell} is at most {bound}.",
        "+low_across": "{across} {across:is|make} at least {away}, so {cell} is at least {bound}.",
        "+high_across": "{across} {across:is|make} at most {away}, so {cell} is at most {bound}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each cell that loses a digit."""
        if not is_new(state, place):
            return
        balance = state.balance(place)
        cells = balance.plus + balance.minus
        masks = {cell: state.candidates[cell] for cell in cells}
        for bound in _bounds(balance, masks, open_groups(state.frame, balance)):
            cites, removes = balance_cites(state, balance, cells), ((bound.cell, bound.gone),)
            step = self.step(state, "", cites, {}, removes=removes)
            yield self.retell(state.frame, step, state.candidates)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The bounds still rule these digits out."""
        balance, masks, groups = balance_of(frame, step, eliminated)
        if 0 in masks.values():
            return False
        ((name, gone),) = step.removes
        target = frame.index[name]
        return any(bound.cell == target and not gone & ~bound.gone for bound in _bounds(balance, masks, groups))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what all but the cell make as cells stand."""
        ((name, gone),) = step.removes
        target = frame.index[name]
        balance = balance_told(frame, step, masks)
        cited, held, groups = balance_of(frame, step, frame.missing(step.cites))
        now = {cell: masks[cell] for cell in balance.plus + balance.minus}
        bound = next(bound for sum_, known in ((balance, now), (cited, held))
                     for bound in _bounds(sum_, known, groups) if bound.cell == target)
        total = balance.total if target in balance.plus else -balance.total
        why: Why = balance_why(frame, step.cites.additions[0], balance) | {"cell": name, "digits": Digits(gone)}
        if not (balance.plus and balance.minus):
            why |= {"least": total - bound.most, "most": total - bound.least}
            return replace(step, key=f"{key_of(balance)}+rest", why=why)
        sides = (balance.plus, balance.minus) if target in balance.plus else (balance.minus, balance.plus)
        beside, across = (tuple([frame.cells[cell] for cell in side if cell != target]) for side in sides)
        low, high = gone & (1 << max(bound.least - 1, 0)) - 1, gone >> max(bound.most, 0)
        at = 0 if low else 1
        why |= {"beside": beside, "across": across, "apart": bound.beside[1 - at], "away": bound.across[at],
                "bound": bound.most if at else bound.least}
        ending = "ends" if low and high else ("low", "high")[at] + ("" if beside else "_across")
        return replace(step, key=f"{key_of(balance)}+{ending}", why=why)


@dataclass(frozen=True, slots=True)
class _Bound:
    """A cell of a sum, the digits it loses, its least and greatest, and what the others on its side can make and
    those on the other.
    """

    cell: int
    gone: int
    least: int
    most: int
    beside: tuple[int, int]
    across: tuple[int, int]


def _bounds(balance: Balance, masks: Mapping[int, int], groups: Groups) -> Iterator[_Bound]:
    """Each cell that loses any digit."""
    parts = balance_parts(balance, groups)
    ranges = [group_range([masks[cell] for cell in part]) for _, part in parts]
    spans = [(sign, span) for (sign, _), span in zip(parts, ranges, strict=True) if span is not None]
    if len(spans) < len(parts):
        return
    for (sign, part), (_, span) in zip(parts, spans, strict=True):
        once = twice = 0
        for cell in part:
            twice |= once & masks[cell]
            once |= masks[cell]
        low, high = (sum(ends[end] for side, ends in spans if side == sign) - span[end] for end in (0, 1))
        away = [ends for side, ends in spans if side != sign]
        across = sum(ends[0] for ends in away), sum(ends[1] for ends in away)
        for cell in part:
            others = once & (twice | ~masks[cell])
            count = len(part) - 1
            rest = distinct_range(others, count) if others.bit_count() >= count else (0, 0)
            beside = low + rest[0], high + rest[1]
            total = sign * balance.total
            first, last = total - beside[1] + across[0], total - beside[0] + across[1]
            mask = masks[cell]
            gone = mask & (1 << max(first - 1, 0)) - 1 | mask >> max(last, 0) << max(last, 0)
            if gone:
                yield _Bound(cell, gone, first, last, beside, across)
