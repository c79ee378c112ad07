"""The 45 rule with many cells left open: the least and greatest that distinct cells of a house can hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
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
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each cell that loses a digit."""
        if not is_new(state, place):
            return
        balance = state.balance(place)
        cells = balance.plus + balance.minus
        masks = {cell: state.candidates[cell] for cell in cells}
        for cell, _, _, gone in _bounds(balance, masks, open_groups(state.frame, balance)):
            step = self.step(state, "", balance_cites(state, balance, cells), {}, removes=((cell, gone),))
            yield self.retell(state.frame, step, state.candidates)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The bounds still rule these digits out."""
        balance, masks, groups = balance_of(frame, step, eliminated)
        if 0 in masks.values():
            return False
        ((name, gone),) = step.removes
        target = frame.index[name]
        return any(
            cell == target and not gone & ~lost for cell, _, _, lost in _bounds(balance, masks, groups)
        )


    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what all but the cell make as cells stand."""
        ((name, gone),) = step.removes
        target = frame.index[name]
        balance = balance_told(frame, step, masks)
        cited, held, groups = balance_of(frame, step, frame.missing(step.cites))
        now = {cell: masks[cell] for cell in balance.plus + balance.minus}
        low, high = next((low, high) for sum_, known in ((balance, now), (cited, held))
                         for cell, low, high, _ in _bounds(sum_, known, groups) if cell == target)
        total = balance.total if target in balance.plus else -balance.total
        why: Why = balance_why(frame, step.cites.added, balance) | {
            "cell": name, "least": total - high, "most": total - low, "digits": Digits(gone)}
        ending = "ends" if balance.plus and balance.minus else "rest"
        return replace(step, key=f"{key_of(balance)}+{ending}", why=why)


def _bounds(
    balance: Balance, masks: Mapping[int, int], groups: Groups
) -> Iterator[tuple[int, int, int, int]]:
    """Yield (cell, least, greatest, digits lost) for each cell that loses any."""
    parts = balance_parts(balance, groups)
    ranges = [group_range([masks[cell] for cell in part]) for _, part in parts]
    if None in ranges:
        return
    spans = [(sign * r[0], sign * r[1]) for (sign, _), r in zip(parts, ranges, strict=True) if r is not None]
    least = sum(min(span) for span in spans)
    most = sum(max(span) for span in spans)
    for (sign, part), span in zip(parts, spans, strict=True):
        once = twice = 0
        for cell in part:
            twice |= once & masks[cell]
            once |= masks[cell]
        for cell in part:
            others = once & (twice | ~masks[cell])
            count = len(part) - 1
            rest = distinct_range(others, count) if others.bit_count() >= count else (0, 0)
            low, high = least - min(span), most - max(span)
            low += min(sign * rest[0], sign * rest[1])
            high += max(sign * rest[0], sign * rest[1])
            ends = sign * (balance.total - low), sign * (balance.total - high)
            first, last = min(ends), max(ends)
            mask = masks[cell]
            gone = mask & (1 << max(first - 1, 0)) - 1 | mask >> max(last, 0) << max(last, 0)
            if gone:
                yield cell, first, last, gone
