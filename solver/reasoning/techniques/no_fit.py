"""No fit: a digit that leaves the rest of its cage nothing that works."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.combine import combinations, combinations_within
from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import (
    MOST_LISTED,
    cage_cases,
    cage_cites,
    cage_still_bars,
    made_of,
    no_other_filling,
    parted,
    told_masks,
)
from cagework.solver.reasoning.clashes import clashes
from cagework.solver.reasoning.filling import union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class NoFit(Technique):
    """Every filling of a cage is tried; what a cell holds in none of them goes."""

    cost = 380
    look = Scope.CAGE
    by_cage = True
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "two": "In {cage}, {cell} cannot be {digits:or}, as {others} cannot be {partners:or}.",
        "two_left": "In {cage}, {both} add to {sum}. {cell} cannot be {digits:or}, as {others} cannot be "
                    "{partners:or}.",
        "two_rest": "In {cage}, {both} add to {sum}. {cell} cannot be {digits:or}, as {others} could not make up "
                    "the rest.",
        "few": "If {cell} were {digits:or}, {made} would be {ways}{unless}, but {others} could not hold the rest, "
               "so {cell} cannot be {digits:or}.",
        "clash": "If {cell} were {digits:or}, {made} would be {ways}{unless}, but {clash:or}, so {cell} cannot be "
                 "{digits:or}.",
        "none": "If {cell} were {digits:or}, {others} could not complete {cage} out of {held}, so {cell} "
                "cannot be {digits:or}.",
        "none_one": "If {cell} were {digits:or}, {others} could not make the remaining {rest} of {cage} out of "
                    "{held}, so {cell} is not {digits:or}.",
        "many": "If {cell} were {digits:or}, {others} could not complete {cage}, so {cell} cannot be {digits:or}.",
        "few_cells": "If {cells:or} were {digits:or}, {made} would be {ways}{unless}, but its other cells could "
                     "not hold the rest, so {cells} cannot be {digits:or}.",
        "clash_cells": "If {cells:or} were {digits:or}, {made} would be {ways}{unless}, but {clash:or}, so "
                       "{cells} cannot be {digits:or}.",
        "none_cells": "If {cells:or} were {digits:or}, the other cells could not complete {cage} out of {held}, "
                      "so {cells} cannot be {digits:or}.",
        "none_one_cells": "If {cells:or} were {digits:or}, the other cells could not make the remaining {rest} of "
                          "{cage} out of {held}, so {cells} cannot be {digits:or}.",
        "same": "{cell} cannot be {digits:or} either, for the same reason.",
        "many_cells": "If {cells:or} were {digits:or}, the other cells could not complete {cage}, so {cells} "
                      "cannot be {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step for each open cell."""
        left = state.open_cage(place)
        if left is None or len(left.cells) < 2 or not left.combinations:
            return
        for cell, kept in zip(left.cells, left.kept, strict=True):
            gone = state.candidates[cell] & ~kept
            if gone:
                yield self.step(state, "", cage_cites(state, place), {}, removes=((cell, gone),))

    def told_after(self, last: Step | None, step: Step) -> tuple[str, ...]:
        """A reason that was just told is not told again."""
        alone = last is not None and last.technique == self.name and not step.key.endswith("_cells")
        same = last is not None and alone and _is_alike(last, step)
        return self.templates("same") if same else super().told_after(last, step)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The cage still rules these digits out."""
        return cage_still_bars(frame, step, eliminated)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say which ways the digits would leave."""
        ((name, gone),) = step.removes
        masks = told_masks(frame, step, masks)
        key, why = _told(frame, step.cites.cages[0], masks, frame.index[name], gone)
        return replace(step, key=key, why=why)

    def listed(self, steps: Sequence[Step]) -> Sequence[Step]:
        """Cells of a cage that lose the same for the same reason, each without what the ones before it lose."""
        found: list[Step] = []
        for step in steps:
            number = next((number for number in reversed(range(len(found))) if _is_alike(found[number], step)), -1)
            if number >= 0 and not any(_rests_on(step, other) for other in found[number + 1:]) and (
                    step.why["apart"] or not _rests_on(step, found[number])):
                before = found[number]
                gone = before.removes + step.removes
                found[number] = replace(before, key=f"{step.key.removesuffix('_cells')}_cells", removes=gone, why={
                    **step.why, "cells": tuple(sorted({cell for cell, _ in gone}))})
            else:
                found.append(step)
        return found


def _is_alike(one: Step, other: Step) -> bool:
    """Whether two steps strike the same for the same reason."""
    return not other.key.startswith("two") and all(
        one.why[name] == other.why[name] for name in ("made", "digits", "ways", "clash", "held"))


def _rests_on(step: Step, before: Step) -> bool:
    """Whether a step cites what another has struck."""
    gone = dict(before.removes)
    return any(mask & gone.get(cell, 0) for cell, mask in step.cites.eliminated)


def _told(frame: Frame, cage: Cage, masks: Sequence[int], cell: int, gone: int) -> tuple[str, Why]:
    """Say that two cells make a sum, or list the ways that have any of these digits where cells hold `masks`.

    They are `apart` where no way has two of them: that one in this cell fails has nothing to do with whether
    another cell can hold the others.
    """
    open_, left, used = parted(frame, cage, masks)
    rest = union_of(mask for one, mask in open_.items() if one != cell)
    rests = [(way, 1 << index) for index in members(gone)
             for way in combinations_within(rest & ~(1 << index), len(open_) - 1, left - index - 1)]
    ways = dict.fromkeys(way | bit for way, bit in rests)
    others = {one: mask for one, mask in open_.items() if one != cell}
    reasons = clashes(frame.cells, [(others, way) for way, _ in rests]) if len(ways) <= MOST_LISTED else ()
    together = combinations_within(union_of(open_.values()) | gone, len(open_), left)
    wanted = [left - index - 1 for index in members(gone)]
    without = [way for way in combinations(frame.size, len(open_), left) if not way & (gone | used)]
    partners = Digits(union_of(1 << digit - 1 for digit in wanted
                               if 0 < digit <= frame.size and digit * 2 != left))
    why: Why = {
        "cage": cage, "made": made_of(frame, cage, masks), "cell": frame.cells[cell], "digits": Digits(gone),
        "partners": partners,
        "others": tuple([frame.cells[other] for other in others]), "sum": frame.told(left, len(open_)),
        "both": tuple([frame.cells[other] for other in open_]),
        "ways": tuple(map(Digits, ways)), "clash": reasons, "rest": frame.told(max(wanted), len(others)),
        "unless": no_other_filling(frame, {**others, cell: gone}, left, used, (*ways, *without)),
        "apart": int(not any((way & gone).bit_count() > 1 for way in together)),
        "held": Digits(0 if ways else rest & ~gone if len(wanted) == 1 else rest),
    }
    if len(open_) == 2:
        return "two_rest" if len(partners) < len(wanted) else "two_left" if used else "two", why
    if reasons:
        return "clash", why
    if not ways:
        return "none_one" if len(wanted) == 1 else "none", why
    return "few" if len(ways) <= MOST_LISTED else "many", why
