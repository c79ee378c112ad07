"""Partial sums: what one cell can hold when the rest of its cage adds to its least or its greatest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import ClassVar

from cagework.solver.frame import Frame
from cagework.solver.state import State
from cagework.solver.step import Digits, Step, Why
from cagework.solver.sums import cage_cites, cage_still_bars, group_range
from cagework.solver.technique import Look, Technique


class PartialSum(Technique):
    """The open cells of a cage but for one, at their least and at their greatest."""

    cost = 32
    look = Look.CAGE
    simple = True
    sentences: ClassVar = {
        "less": "The open cells of {cage} add to {sum}; {others} hold at least {least}, "
                "so {cell} is at most {bound}.",
        "more": "The open cells of {cage} add to {sum}; {others} reach at most {most}, "
                "so {cell} is at least {bound}.",
        "both": "The open cells of {cage} add to {sum}; {others} hold {least} to {most}, "
                "so {cell} is not {digits}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step for each open cell."""
        left = state.open_cage(place)
        if left is None or len(left.cells) < 2 or not left.combinations:
            return
        frame = state.frame
        candidates = state.candidates
        masks = [candidates[cell] for cell in left.cells]
        for number, cell in enumerate(left.cells):
            if left.kept[number] == masks[number]:
                continue
            spread = group_range(masks[:number] + masks[number + 1:])
            if spread is None:
                continue
            low, high = left.total - spread[1], left.total - spread[0]
            below = (1 << max(low - 1, 0)) - 1
            above = frame.full & ~((1 << max(high, 0)) - 1)
            small, large = masks[number] & below, masks[number] & above
            if not small | large:
                continue
            why: Why = {
                "cage": frame.puzzle.cages[place], "sum": left.total, "cell": frame.cells[cell],
                "others": tuple([frame.cells[other] for other in left.cells if other != cell]),
                "least": spread[0], "most": spread[1], "digits": Digits(small | large),
                "bound": low if small else high,
            }
            key = "both" if small and large else ("more" if small else "less")
            yield self.step(state, key, cage_cites(state, place), why, removes=((cell, small | large),))

    def holds(self, frame: Frame, step: Step, struck: Mapping[int, int]) -> bool:
        """The cage still rules these digits out."""
        return cage_still_bars(frame, step, struck)
