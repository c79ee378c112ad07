"""What-if: suppose a candidate, follow a few simple steps to a dead end, and eliminate the candidate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.combine import combinations_within
from cagework.solver.model import Cage
from cagework.solver.reasoning.agenda import Agenda
from cagework.solver.reasoning.cage_sums import made_of, parted
from cagework.solver.reasoning.clashes import clashes
from cagework.solver.reasoning.filling import distinct_range, union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.prune import Pruner, Trail, total_cites
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import MOST_LINKS, Supposing
from cagework.solver.step import Cites, Digits, Step, Why

_SHORT = 3
"""A simple argument this short is taken without looking for a shorter one."""

_COMPARED = 4
"""Arguments looked for after the first, in case one is shorter; those not taken are kept."""

_AGAIN = 24
"""Candidates that were given up and are looked at again."""

_FEW = 2
"""A cell of so few candidates, or a digit of so few places in a house, is supposed before others."""

_COST, _LINK = 70, 8
"""What a supposition costs, and each link of its argument."""

_OPENS = 4
"""Links that an argument may have more than another where it opens something at once and the other does not."""

_LISTED = 3
"""The most ways to make a cage that are gone through where none is left."""

_RUN = 16
"""The most steps followed before a supposition is given up: of those that end later few are short once pruned."""


class WhatIf(Supposing):
    """A candidate that leads to a dead end is eliminated."""

    cost = 134
    sentences: ClassVar = {
        "removes": "Suppose {cell} is {digit}.",
        "no_digit": "Then nothing is left for {cell}.",
        "no_place": "Then {digit} has no place in {house}.",
        "no_sum": "Then {cage} cannot be made.",
        "no_sum_filled": "Then {cage} adds to {sum}.",
        "no_sum_one": "Then {left} is left for {cells} in {cage}, but it can only be {held:or}.",
        "no_sum_most": "Then {made} adds to at most {sum}, not {left}.",
        "no_sum_least": "Then {made} adds to at least {sum}, not {left}.",
        "no_sum_of": "Then {made} cannot make {left} out of {held}.",
        "no_sum_ways": "Then {made} can only be {ways}, but {clash:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The shortest argument found, if any, of one that opens something and one that does not sooner the first:
        one that is left from before, else a new one; what was given up is looked at again where there is no other.
        """
        found = state.doom.arguments
        found[:] = filter(state.changes_by, found)
        while not found:
            found += self._against(state, self._worth_it(state, state.doomed(), soon=True))
            if not found and not state.look_for_doomed():
                found += self._against(state, self._worth_it(state, state.doomed(), soon=False))
                again = [one for one in state.doomed() if not state.doom.is_worth_it(one, state.candidates)]
                found += [] if found else self._against(state, again[:_AGAIN])
                break
        if found:
            best = min(found, key=lambda step: len(step.parts) - _OPENS * _opens(state, step))
            found.remove(best)
            yield best

    def _worth_it(self, state: State, doomed: list[tuple[int, int]], *, soon: bool) -> list[tuple[int, int]]:
        """Those of these candidates that are worth a look, the narrow ones first."""
        doom, now = state.doom, state.candidates
        worth = [one for one in doomed if doom.is_worth_it(one, now) and doom.is_soon(one) == soon]
        return sorted(worth, key=lambda one: not _is_narrow(state, *one))

    def _against(self, state: State, doomed: list[tuple[int, int]]) -> list[Step]:
        """Arguments against the first few of these candidates that have one."""
        found: list[Step] = []
        for one in doomed:
            step = self._suppose(state, *one)
            if step is None:
                state.doom.give_up(one, state.candidates)
                continue
            found.append(step)
            if len(step.parts) <= _SHORT or len(found) > _COMPARED:
                break
        return found

    def _suppose(self, state: State, cell: int, index: int) -> Step | None:
        """The argument against one candidate, in at most MOST_LINKS parts; None where none was found."""
        below = state.copy()
        trail = Trail(below)
        scout = Agenda(below, self._simple, 0)
        names = state.frame.cells
        supposition = self.step(below, "removes", Cites(), {"cell": names[cell], "digit": index + 1},
                                places=((cell, 1 << index),))
        trail.add(supposition)
        seen = 0
        for _ in range(_RUN):
            end = self._dead_end(below, seen)
            if end is not None:
                return self._argument(trail, end, cell, index)
            seen = len(below.log)
            steps = scout.cheapest()
            if not steps:
                return None
            trail.add(steps[0])
        return None

    def _argument(self, trail: Trail, end: Step, cell: int, index: int) -> Step | None:
        """The steps that lead to the dead end, and no others."""
        trail.add(end)
        last = len(trail.steps) - 1
        trimmer = Pruner(trail, (last,), {technique.name: technique for technique in self._simple})
        kept = trimmer.run()
        supposition = kept.pop(0, None)
        if supposition is None or len(kept) > MOST_LINKS:
            return None
        parts = tuple(kept.values())
        cites = total_cites(trimmer, parts)
        why: Why = {"cell": trail.state.frame.cells[cell], "digit": index + 1}
        step = self.step(trail.state, "removes", cites, why, removes=((cell, 1 << index),))
        return replace(step, parts=parts, cost=_COST + _LINK * len(parts))

    def _dead_end(self, state: State, seen: int) -> Step | None:
        """What has become impossible since: a cell without digits, a digit without a cell, a cage out of sums."""
        frame = state.frame
        houses = cages = 0
        for cell, _ in state.log[seen:]:
            if not state.candidates[cell]:
                cites = Cites(state.missing(1 << cell, frame.full))
                return self.step(state, "no_digit", cites, {"cell": frame.cells[cell]})
            houses |= frame.house_bits[cell]
            cages |= frame.cage_bits[cell]
        for number in members(houses):
            if frame.whole[number]:
                union = 0
                for cell in frame.houses[number]:
                    union |= state.candidates[cell]
                if union != frame.full:
                    lost = frame.full & ~union
                    house = frame.puzzle.houses[number]
                    cites = Cites(state.missing(frame.house_sets[number], lost & -lost), (house,))
                    digit = (lost & -lost).bit_length()
                    return self.step(state, "no_place", cites, {"digit": digit, "house": house})
        for number in members(cages):
            left = state.open_cage(number)
            if left is None:
                if _adds_up(state, number):
                    continue
            elif left.combinations:
                continue
            cage = frame.puzzle.cages[number]
            cites = Cites(state.missing(frame.cage_sets[number], frame.full), cages=(cage,))
            return self.step(state, "no_sum", cites, {"cage": cage})
        return None

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say why a cage cannot be made."""
        if not step.key.startswith("no_sum"):
            return step
        cage, cited = step.cites.cages[0], frame.cited(step.cites)
        for held in (masks, cited):
            if all(held[frame.index[cell]] for cell in cage.cells):
                key, why = _unmade(frame, cage, held)
                if key:
                    return replace(step, key=f"no_sum_{key}", why=step.why | why)
        return replace(step, key="no_sum")

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The links of its argument; not more than MOST_LINKS."""
        return len(step.parts)


def _opens(state: State, step: Step) -> bool:
    """Whether what a step strikes has but one other, which is then seen."""
    ((cell, mask),) = step.removes
    return _is_narrow(state, state.frame.index[cell], mask.bit_length() - 1)


def _is_narrow(state: State, cell: int, index: int) -> bool:
    """Whether a candidate has but one other, in its cell or as a place of its digit in a house."""
    frame, places = state.frame, state.digit_places[index]
    return state.candidates[cell].bit_count() <= _FEW or any(
        frame.whole[house] and (places & frame.house_sets[house]).bit_count() <= _FEW
        for house in frame.houses_of[cell])


def _adds_up(state: State, number: int) -> bool:
    """Whether a cage that is filled, or has no total, is as it should be."""
    frame = state.frame
    total = frame.totals[number]
    return total is None or total == sum(state.candidates[cell].bit_length() for cell in frame.cages[number])


def _unmade(frame: Frame, cage: Cage, masks: Sequence[int]) -> tuple[str, Why]:
    """Say why a cage cannot be made where cells hold `masks`; no key where that is not short, or it can."""
    open_, left, _ = parted(frame, cage, masks)
    union = union_of(open_.values())
    why: Why = {"cage": cage, "cells": tuple([frame.cells[cell] for cell in open_]), "left": left,
                "held": Digits(union), "made": made_of(frame, cage, masks)}
    if not open_:
        return "filled" if left else "", why | {"sum": (cage.total or 0) - left}
    if len(open_) == 1:
        return "" if left > 0 and union >> left - 1 & 1 else "one", why
    if union.bit_count() < len(open_):
        return "", why
    least, most = distinct_range(union, len(open_))
    if not least <= left <= most:
        return ("most", why | {"sum": most}) if left > most else ("least", why | {"sum": least})
    ways = combinations_within(union, len(open_), left)
    if not ways:
        return "of", why
    reasons = clashes(frame.cells, [(open_, way) for way in ways]) if len(ways) <= _LISTED else ()
    return "ways" if reasons else "", why | {"ways": tuple(map(Digits, ways)), "clash": reasons}
