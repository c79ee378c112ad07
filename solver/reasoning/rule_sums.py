"""A sum that a rule of the puzzle's own states, as far as it is open, and what its cells can hold."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cagework.solver.model import Cage, Sum
from cagework.solver.reasoning.balancing import Groups, Parts, balance_parts, ends_bar
from cagework.solver.reasoning.cage_sums import Reach
from cagework.solver.reasoning.filling import balances
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance


@dataclass(frozen=True, slots=True)
class OpenSum:
    """What is left of a sum: its open cells, and what they may make."""

    plus: tuple[int, ...]
    minus: tuple[int, ...]
    totals: tuple[int, ...]

    def parts(self, groups: Groups) -> Parts:
        """The open cells as parts without repeats, each with its sign."""
        return balance_parts(Balance(-1, self.plus, self.minus, self.totals[0], (), ()), groups)

    def reach(self, masks: Sequence[int], groups: Groups) -> Reach:
        """What the cells can hold, where those of one group differ."""
        if 0 in [masks[cell] for cell in self.plus + self.minus]:
            return {}
        parts = self.parts(groups)
        kept = balances([(sign, tuple([masks[cell] for cell in part])) for sign, part in parts], *self.totals)
        return {cell: mask for (_, part), held in zip(parts, kept, strict=True)
                for cell, mask in zip(part, held, strict=True)}

    def ends_bar(self, masks: Sequence[int], gone: Mapping[int, int]) -> bool:
        """Whether the least and greatest of all other cells bar these digits."""
        signs = dict.fromkeys(self.plus, 1) | dict.fromkeys(self.minus, -1)
        return ends_bar(signs, masks, self.totals[0], gone)


def open_sum(frame: Frame, one: Sum, masks: Sequence[int]) -> OpenSum:
    """A sum where cells hold `masks`: a cell with one digit is counted."""
    sides: tuple[list[int], list[int]] = ([], [])
    counted = 0
    for side, cells, sign in zip(sides, (one.plus, one.minus), (1, -1), strict=True):
        for cell in map(frame.index.__getitem__, cells):
            mask = masks[cell]
            if mask & mask - 1 or not mask:
                side.append(cell)
            else:
                counted += sign * mask.bit_length()
    return OpenSum(tuple(sides[0]), tuple(sides[1]), tuple([total - counted for total in one.totals]))


def beside_known(one: Sum, cages: Iterable[Cage]) -> tuple[Sum, Cage | None]:
    """What a sum of several totals says of its one side where the other is one of these cages, of which the total
    is known: then that cage, too.
    """
    if len(one.totals) > 1 and one.minus:
        for cage in cages:
            if cage.total is not None and set(cage.cells) == set(one.minus):
                return Sum(one.plus, (), tuple([cage.total + total for total in one.totals])), cage
            if cage.total is not None and set(cage.cells) == set(one.plus):
                return Sum(one.minus, (), tuple([cage.total - total for total in reversed(one.totals)])), cage
    return one, None


def is_more(frame: Frame, one: Sum) -> bool:
    """Whether all that a sum says is that the one side makes more than the other."""
    utmost = len(one.plus) * frame.size - len(one.minus)
    even = -frame.told(0, len(one.plus), len(one.minus))      # the total that is printed as 0
    return bool(one.minus) and one.totals == tuple(range(even + 1, utmost + 1))
