"""A sum that a rule of the puzzle's own states: what its cells can hold."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from cagework.solver.bitset import set_of
from cagework.solver.model import Cage, Sum
from cagework.solver.reasoning.balancing import (
    Groups,
    balance_parts,
    cited_groups,
    ends_bar,
    ways_to_make,
    with_sight,
)
from cagework.solver.reasoning.cage_sums import Reach, removals
from cagework.solver.reasoning.filling import balances
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Claim, Step, Why


class RuleSum(Technique):
    """Every filling of a sum is tried; what a cell holds in none of them goes."""

    cost = 22
    look = Scope.SUM
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "last": "{rule} {sum}, and {found:list}, so {cell} is {digit}.",
        "sum": "{rule} {sum}.",
        "sum_found": "{rule} {sum}, and {found:list}, so {now:so}.",
        "again": "{rule} {now}.",
        "more": "{rule} {greater} {greater:is|make} more than {lesser}{lesser:| together}.",
        "over": "{rule} {cells} {cells:is|make} more than {cage}.",
        "under": "{rule} {cells} {cells:is|make} less than {cage}.",
        "either": "{rule} {greater} less {lesser} is {totals:or}.",
        "cells": "{rule} {greater} {greater:is|make} {totals:or}.",
    }
    in_passing: ClassVar = {
        "sum": "{rule} {sum}",
        "sum_found": "{rule} {sum}, and {found:list}, so {now:so}",
        "more": "{rule} {greater} {greater:is|make} more than {lesser}{lesser:| together}",
        "over": "{rule} {cells} {cells:is|make} more than {cage}",
        "under": "{rule} {cells} {cells:is|make} less than {cage}",
        "either": "{rule} {greater} less {lesser} is {totals:or}",
        "cells": "{rule} {greater} {greater:is|make} {totals:or}",
    }
    in_brief: ClassVar = {"last": "{cell} is {digit} ({rule} {sum})"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step; where nothing fits, all that one cell can hold goes."""
        frame = state.frame
        stated = frame.puzzle.sums[place]
        one, cage = _beside_known(stated, frame.puzzle.cages)
        cells = tuple(map(frame.index.__getitem__, one.cells))
        known = Cites(state.missing(set_of(cells), frame.full), cages=(cage,) if cage else (), sums=(stated,))
        cites = with_sight(frame, known, cells)
        open_ = _open(frame, one, state.candidates)
        reach = open_.reach(state.candidates, cited_groups(frame, cites))
        removes = removals(state, reach)
        if 0 in reach.values():
            removes = removes[:1]
        if removes:
            alone = len(reach) == 1 and len(one.totals) == 1 and reach[removes[0][0]]
            yield self.step(state, "", cites, {}, removes=() if alone else removes,
                            places=((removes[0][0], alone),) if alone else ())

    def told_after(self, last: Step | None, step: Step) -> tuple[str, ...]:
        """A sum that was told right before is only named."""
        again = (last is not None and step.key in ("sum", "sum_found") and last.cites.sums == step.cites.sums
                 and last.why.get("now") == step.why["now"])
        return self.templates("again") if again else super().told_after(last, step)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The least and the greatest where these say it, else the ways to make the sum."""
        open_ = _open(frame, _beside_known(step.cites.sums[0], step.cites.cages)[0], masks)
        if step.places:
            return 1
        gone = {frame.index[cell]: mask for cell, mask in step.removes}
        if len(open_.totals) > 1 or open_.ends_bar(masks, gone):
            return 2
        return ways_to_make(open_.parts(cited_groups(frame, step.cites)), masks, open_.totals[0])

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The sum still rules these digits out; a digit is told by all others, so that they are known."""
        masks = frame.lacking(eliminated)
        one, _ = _beside_known(step.cites.sums[0], step.cites.cages)
        open_ = _open(frame, one, masks)
        if step.places and len(open_.plus) + len(open_.minus) > 1:
            return False
        reach = open_.reach(masks, cited_groups(frame, step.cites))
        gone = dict(step.removes) | {cell: frame.full & ~(1 << digit - 1) for cell, digit in step.places}
        return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in gone.items())

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what the sum is, and what is open of it."""
        (one,) = step.cites.sums
        names = frame.cells
        known = frame.lacking(frame.missing(step.cites)) if step.places else masks
        held = [(cell, known[frame.index[cell]]) for cell in one.cells]
        found = tuple([Claim(cell, mask.bit_length(), holds=True) for cell, mask in held if mask.bit_count() == 1])
        why: Why = {"sum": one, "greater": one.plus, "lesser": one.minus, "totals": one.totals, "found": found}
        if step.places:
            ((cell, digit),) = step.places
            return replace(step, key="last", why=why | {"cell": cell, "digit": digit})
        key = _bounds(one, frame.size) if len(one.totals) > 1 else ""
        beside, cage = _beside_known(one, step.cites.cages)
        if key == "more" and cage:
            key = "over" if set(beside.plus) <= set(one.plus) else "under"
            why |= {"cells": beside.plus, "cage": cage}
        if key:
            return replace(step, key=key, why=why)
        open_ = _open(frame, one, masks)
        plus, minus = (tuple([names[cell] for cell in cells]) for cells in (open_.plus, open_.minus))
        now = Sum(plus, minus, open_.totals)
        return replace(step, key="sum_found" if found and plus + minus else "sum", why=why | {"now": now})


@dataclass(frozen=True, slots=True)
class _Open:
    """What is left of a sum: its open cells, and what they may make."""

    plus: tuple[int, ...]
    minus: tuple[int, ...]
    totals: tuple[int, ...]

    def parts(self, groups: Groups) -> list[tuple[int, tuple[int, ...]]]:
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


def _open(frame: Frame, one: Sum, masks: Sequence[int]) -> _Open:
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
    return _Open(tuple(sides[0]), tuple(sides[1]), tuple([total - counted for total in one.totals]))


def _beside_known(one: Sum, cages: Iterable[Cage]) -> tuple[Sum, Cage | None]:
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


def _bounds(one: Sum, size: int) -> str:
    """The key of the sentence about a sum with several totals."""
    if not one.minus:
        return "cells"
    utmost = len(one.plus) * size - len(one.minus)
    return "more" if one.totals == tuple(range(1, utmost + 1)) else "either"
