"""A sum that a rule of the puzzle's own states: what its cells can hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import set_of
from cagework.solver.model import Sum
from cagework.solver.reasoning.balancing import cited_groups, ways_to_make, with_sight
from cagework.solver.reasoning.cage_sums import removals
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.rule_sums import beside_known, is_more, open_sum
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Claim, Step, Why


class RuleSum(Technique):
    """Every filling of a sum is tried; what a cell holds in none of them goes."""

    cost = 220
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
        one, cage = beside_known(stated, frame.puzzle.cages)
        cells = tuple(map(frame.index.__getitem__, one.cells))
        known = Cites(state.missing(set_of(cells), frame.full), cages=(cage,) if cage else (), sums=(stated,))
        cites = with_sight(frame, known, cells)
        open_ = open_sum(frame, one, state.candidates)
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
        open_ = open_sum(frame, beside_known(step.cites.sums[0], step.cites.cages)[0], masks)
        if step.places:
            return 1
        gone = {frame.index[cell]: mask for cell, mask in step.removes}
        if len(open_.totals) > 1 or open_.ends_bar(masks, gone):
            return 2
        return ways_to_make(open_.parts(cited_groups(frame, step.cites)), masks, open_.totals[0])

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The sum still rules these digits out; a digit is told by all others, so that they are known."""
        masks = frame.lacking(eliminated)
        one, _ = beside_known(step.cites.sums[0], step.cites.cages)
        open_ = open_sum(frame, one, masks)
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
        why: Why = {"sum": one, "greater": one.plus, "lesser": one.minus, "totals": frame.source_of(one).totals,
                    "found": found}
        if step.places:
            ((cell, digit),) = step.places
            return replace(step, key="last", why=why | {"cell": cell, "digit": digit})
        key = _bounds(frame, one) if len(one.totals) > 1 else ""
        beside, cage = beside_known(one, step.cites.cages)
        if key == "more" and cage:
            key = "over" if set(beside.plus) <= set(one.plus) else "under"
            why |= {"cells": beside.plus, "cage": cage}
        if key:
            return replace(step, key=key, why=why)
        open_ = open_sum(frame, one, masks)
        plus, minus = (tuple([names[cell] for cell in cells]) for cells in (open_.plus, open_.minus))
        now = Sum(plus, minus, open_.totals)
        return replace(step, key="sum_found" if found and plus + minus else "sum", why=why | {"now": now})


def _bounds(frame: Frame, one: Sum) -> str:
    """The key of the sentence about a sum with several totals."""
    if not one.minus:
        return "cells"
    return "more" if is_more(frame, one) else "either"
