"""What-if: suppose a candidate, follow a few simple steps to a dead end, and eliminate the candidate."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.combine import combinations_within
from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import made_of, parted
from cagework.solver.reasoning.clashes import clashes
from cagework.solver.reasoning.filling import distinct_range, union_of
from cagework.solver.reasoning.following import Argument, Following
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import MOST_LINKS, Supposing, Technique
from cagework.solver.step import Cites, Digits, Step, Why

_SHORT = 3
"""An argument this short is taken without looking for a shorter one."""

_COMPARED = 4
"""Arguments looked for after the first, in case one is shorter; those not taken are kept."""

_AGAIN = 24
"""Candidates that were given up and are looked at again."""

_FEW = 2
"""A cell of so few candidates, or a digit of so few places in a house, is supposed before others."""

_COST, _LINK = 700, 80
"""What a supposition costs, and each link of its argument."""

_OPENS = 4
"""Links that an argument may have more than another where it opens something at once and the other does not."""

_LISTED = 3
"""The most ways to make a cage that are gone through where none is left."""

_LONGEST = 18
"""An argument of more links is not looked for again: few of them get short."""

_Found = tuple[tuple[int, int], Argument]
"""A candidate, as a cell and a digit's index, and the argument against it."""


class WhatIf(Supposing):
    """A candidate that leads to a dead end is eliminated."""

    cost = 1340
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

    def equip(self, others: Iterable[Technique]) -> None:
        """Take the simple techniques as tools."""
        super().equip(others)
        self._following = Following(self._simple, self.dead_end)

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The shortest argument found, if any, of one that opens something and one that does not sooner the first:
        one that is left from before, else a new one; what was given up is looked at again where there is no other.
        Once a trial was made the path is beyond a reader anyhow: then only what fails soon is looked at.
        """
        found, longer = state.doom.arguments, list[_Found]()
        found[:] = filter(state.changes_by, found)
        while not found:
            found += self._against(state, self._worth_it(state, state.doomed(), soon=True), longer)
            if found or state.look_for_doomed():
                continue
            if not state.tried:
                found += self._against(state, self._worth_it(state, state.doomed(), soon=False), longer)
                again = [one for one in state.doomed() if not state.doom.is_worth_it(one, state.candidates)]
                found += [] if found else self._against(state, again[:_AGAIN], longer)
                found += [] if found else self._one_of(state, longer)
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

    def _against(self, state: State, doomed: list[tuple[int, int]], longer: list[_Found]) -> list[Step]:
        """Arguments against the first few of these candidates that have one; those of more links are `longer`."""
        found: list[Step] = []
        for one in doomed:
            argument = self._following.argument(state, self._supposed(state, *one))
            if argument is not None and len(argument.parts) <= MOST_LINKS:
                found.append(self._step(state, one, argument))
                if len(argument.parts) <= _SHORT or len(found) > _COMPARED:
                    break
            else:
                state.doom.give_up(one, state.candidates)
                longer += [(one, argument)] if argument is not None and len(argument.parts) <= _LONGEST else []
        return found

    def _one_of(self, state: State, longer: list[_Found]) -> list[Step]:
        """The first of these arguments that is found with few enough links, the least long tried first."""
        doom, now = state.doom, state.candidates
        for one, argument in sorted(longer, key=lambda found: len(found[1].parts)):
            if doom.is_worth_it((one, _LONGEST), now):
                shorter = self._following.shortened(argument, MOST_LINKS)
                if len(shorter.parts) <= MOST_LINKS:
                    return [self._step(state, one, shorter)]
                doom.give_up((one, _LONGEST), now)
        return []

    def shortened(self, state: State, step: Step) -> Step:
        """Return a step of a path by the shortest argument that is found where it stands."""
        ((name, mask),) = step.removes
        one = state.frame.index[name], mask.bit_length() - 1
        argument = self._following.argument(state, self._supposed(state, *one))
        shorter = argument and self._following.shortened(argument, _SHORT)
        return self._step(state, one, shorter) if shorter and len(shorter.parts) < len(step.parts) else step

    def _supposed(self, state: State, cell: int, index: int) -> Step:
        """The supposition that a cell holds a digit."""
        why: Why = {"cell": state.frame.cells[cell], "digit": index + 1}
        return self.step(state, "removes", Cites(), why, places=((cell, 1 << index),))

    def _step(self, state: State, one: tuple[int, int], argument: Argument) -> Step:
        """The step that an argument against a candidate makes."""
        cell, index = one
        why: Why = {"cell": state.frame.cells[cell], "digit": index + 1}
        step = self.step(state, "removes", argument.cites, why, removes=((cell, 1 << index),))
        return replace(step, parts=argument.parts, cost=_COST + _LINK * len(argument.parts))

    def dead_end(self, state: State, seen: int, every: bool) -> Step | None:
        """What has become impossible since: a cell without digits, a digit without a cell, a cage out of sums; of
        `every` digit of the houses that were touched, or of those that went there.
        """
        frame, candidates = state.frame, state.candidates
        houses: dict[int, int] = {}
        cages = 0
        for cell, gone in state.log[seen:]:
            if not candidates[cell]:
                cites = Cites(state.missing(1 << cell, frame.full))
                return self.step(state, "no_digit", cites, {"cell": frame.cells[cell]})
            houses[gone] = houses.get(gone, 0) | frame.house_bits[cell]
            cages |= frame.cage_bits[cell]
        if every or _is_barred(state, houses):
            step = self._no_place(state, union_of(houses.values()))
            if step is not None:
                return step
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

    def _no_place(self, state: State, houses: int) -> Step | None:
        """The first of these houses that has no place for a digit."""
        frame = state.frame
        for number in members(houses & frame.whole_bits):
            lost = frame.full & ~union_of([state.candidates[cell] for cell in frame.houses[number]])
            if lost:
                house, bit = frame.puzzle.houses[number], lost & -lost
                cites = Cites(state.missing(frame.house_sets[number], bit), (house,))
                return self.step(state, "no_place", cites, {"digit": bit.bit_length(), "house": house})
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


def _is_barred(state: State, houses: Mapping[int, int]) -> bool:
    """Whether some house has no place for a digit: `houses` by digits, as bits."""
    frame, places = state.frame, state.digit_places
    for digits, numbers in houses.items():
        for index in members(digits):
            everywhere, left = places[index], numbers & frame.whole_bits
            while left:
                low = left & -left
                left ^= low
                if not everywhere & frame.house_sets[low.bit_length() - 1]:
                    return True
    return False


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
    why: Why = {"cage": cage, "cells": tuple([frame.cells[cell] for cell in open_]),
                "left": frame.told(left, len(open_)),
                "held": Digits(union), "made": made_of(frame, cage, masks)}
    if not open_:
        return "filled" if left else "", why | {
            "sum": frame.told((cage.total or 0) - left, len(cage.cells))}
    if len(open_) == 1:
        return "" if left > 0 and union >> left - 1 & 1 else "one", why
    if union.bit_count() < len(open_):
        return "", why
    least, most = distinct_range(union, len(open_))
    if not least <= left <= most:
        key, end = ("most", most) if left > most else ("least", least)
        return key, why | {"sum": frame.told(end, len(open_))}
    ways = combinations_within(union, len(open_), left)
    if not ways:
        return "of", why
    reasons = clashes(frame.cells, [(open_, way) for way in ways]) if len(ways) <= _LISTED else ()
    return "ways" if reasons else "", why | {"ways": tuple(map(Digits, ways)), "clash": reasons}
