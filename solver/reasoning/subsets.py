"""What naked and hidden subsets of any size share: k cells that hold only k digits, k digits in only k cells."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cage, Cell
from cagework.solver.reasoning.cage_sums import parted
from cagework.solver.reasoning.elsewhere import (
    cited_elsewhere,
    cover,
    elsewhere,
    emptied,
    group_cites,
    without_idle,
)
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Digits, Step, Why, joined

SubsetDeduction = tuple[Cites, Why, list[tuple[int, int]]]
"""Citation, values, and what is removed."""


class NakedSubset(Technique):
    """What the techniques share that find as many digits as cells that hold no others."""

    look = Scope.GROUP
    sentences: ClassVar = {
        "removes": "{cells}, with nothing else left, are {digits:set}, so no other cell {where} can be "
                   "{digits:or}.",
        "removes_all": "{cells}, all of {cage}, are {digits:set}, so no other cell {where} can be {digits:or}.",
        "removes_rest": "{cells}, the rest of {cage}, add to {sum} and are {digits:set}, so no other cell {where} "
                        "can be {digits:or}.",
        "so": "So no other cell {where} can be {digits:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each subset, at the first of the houses and cages that hold it."""
        for cites, why, removes in _naked(state, place, self.cases):
            yield self.step(state, "removes", cites, why, removes=removes)

    def whole(self, frame: Frame, step: Step) -> Step:
        """No other cell there has any of the digits."""
        used, digits = _of(frame, step)
        return replace(step, removes=emptied(frame, step.cites, None, used, digits))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Name no house or cage in which nothing goes any more, and the cage that the cells fill, if any."""
        used, digits = _of(frame, step)
        where = cited_elsewhere(frame, step.cites, None, used, step.removes)
        cage, filled = _filled_by(frame, used, digits, masks)
        key = "removes" if cage is None else "removes_rest" if filled else "removes_all"
        own: Why = {} if cage is None else {"cage": cage, "sum": frame.made_by(digits)}
        return replace(step, key=key, why=step.why | {"where": where} | own,
                       cites=without_idle(step.cites, None, where))


def _of(frame: Frame, step: Step) -> tuple[int, int]:
    """The cells, as bits, and the digits that a subset is of."""
    cells, digits = step.why["cells"], step.why["digits"]
    assert isinstance(cells, tuple) and isinstance(digits, Digits), "cells are a list"
    return set_of(frame.index[cell] for cell in cells if isinstance(cell, Cell)), digits.mask


def _filled_by(frame: Frame, used: int, digits: int, masks: Sequence[int]) -> tuple[Cage | None, bool]:
    """The cage of which these cells are all that is open where cells hold `masks`, if there is one and these
    digits make what is left of it, and whether others of it are filled.
    """
    for cage in frame.puzzle.cages:
        open_, left, filled = parted(frame, cage, masks)
        if set_of(open_) == used and left == sum(Digits(digits)):
            return cage, bool(filled)
    return None, False


def _naked(state: State, place: int, count: int) -> Iterator[SubsetDeduction]:
    """Yield each set of `count` open cells of a house or cage whose candidates are `count` digits."""
    frame = state.frame
    candidates = state.candidates
    open_ = list(members(frame.group_sets[place] & ~state.placed))
    if len(open_) < count:
        return
    small = [cell for cell in open_ if 2 <= candidates[cell].bit_count() <= count]
    for chosen in _unions([candidates[cell] for cell in small], count):
        cells = set_of([small[i] for i in chosen])
        homes, digits = -1, 0
        for cell in members(cells):
            homes &= frame.group_bits[cell]
            digits |= candidates[cell]
        if homes & (1 << place) - 1:
            continue        # another place has it
        removes = {
            cell: gone for home in members(homes)
            for cell in members(frame.group_sets[home] & ~state.placed & ~cells)
            if (gone := candidates[cell] & digits)
        }
        if removes:
            chosen_homes, _ = cover(frame, members(homes), set_of(removes))
            cites = joined(Cites(state.missing(cells, frame.full ^ digits)), group_cites(frame, chosen_homes))
            why: Why = {"cells": state.names(cells), "digits": Digits(digits),
                        "where": elsewhere(frame, chosen_homes, 0)}
            yield cites, why, list(removes.items())


class HiddenSubset(Technique):
    """What the techniques share that find as many digits of a house as cells that these have."""

    look = Scope.HOUSE
    question = "Where in {house} can {digits} go?"
    sentences: ClassVar = {
        "removes": "In {house}, {digits} can go only in {cells}, so these hold nothing else.",
    }
    answers: ClassVar = {"removes": "Only in {cells}, so these hold nothing else."}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each subset."""
        for cites, why, removes in _hidden(state, place, self.cases):
            yield self.step(state, "removes", cites, why, removes=removes)

    def whole(self, frame: Frame, step: Step) -> Step:
        """These cells have no other digit."""
        used, digits = _of(frame, step)
        return replace(step, removes=tuple([(frame.cells[cell], frame.full & ~digits) for cell in members(used)]))


def _hidden(state: State, place: int, count: int) -> Iterator[SubsetDeduction]:
    """Yield each set of `count` digits that have only `count` cells in a house."""
    frame = state.frame
    if not frame.whole[place]:
        return
    inside = frame.house_sets[place]
    open_ = inside & ~state.placed
    if open_.bit_count() <= count:
        return
    places = [(i, everywhere & inside) for i, everywhere in enumerate(state.digit_places) if everywhere & open_]
    few = [(i, cells) for i, cells in places if 2 <= cells.bit_count() <= count]
    for chosen in _unions([cells for _, cells in few], count):
        digits, cells = 0, 0
        for i in chosen:
            digits |= 1 << few[i][0]
            cells |= few[i][1]
        removes = [(cell, gone) for cell in members(cells) if (gone := state.candidates[cell] & ~digits)]
        if removes:
            house = frame.puzzle.houses[place]
            why: Why = {"cells": state.names(cells), "digits": Digits(digits), "house": house}
            yield Cites(state.missing(inside & ~cells, digits), (house,)), why, removes


def _unions(masks: list[int], count: int) -> Iterator[tuple[int, ...]]:
    """Yield the numbers of each `count` masks that have `count` bits between them."""
    if len(masks) < count:
        return
    if count == 2:
        for i, mask in enumerate(masks):
            for j in range(i + 1, len(masks)):
                if masks[j] == mask:
                    yield i, j
        return
    for chosen in combinations(range(len(masks)), count):
        union = 0
        for i in chosen:
            union |= masks[i]
        if union.bit_count() == count:
            yield chosen
