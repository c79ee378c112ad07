"""What naked and hidden subsets of any size share: k cells that hold only k digits, k digits in only k cells."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.state import State
from cagework.solver.step import Cites, Digits, Why

SubsetDeduction = tuple[Cites, Why, list[tuple[int, int]]]
"""Citation, values, and what is removed."""


def naked(state: State, place: int, count: int) -> Iterator[SubsetDeduction]:
    """Yield each set of `count` open cells of a house or cage whose candidates are `count` digits."""
    frame = state.frame
    candidates = state.candidates
    house = place < len(frame.houses)
    together = frame.group_sets[place]
    open_ = list(members(together & ~state.placed))
    if len(open_) <= count:
        return
    small = [cell for cell in open_ if 2 <= candidates[cell].bit_count() <= count]
    for chosen in _unions([candidates[cell] for cell in small], count):
        cells = [small[i] for i in chosen]
        digits = 0
        for cell in cells:
            digits |= candidates[cell]
        removes = [
            (cell, gone) for cell in open_ if cell not in cells and (gone := candidates[cell] & digits)
        ]
        if removes:
            chosen_cells = set_of(cells)
            eliminated = state.missing(chosen_cells, frame.full ^ digits)
            why: Why = {"cells": state.names(chosen_cells), "digits": Digits(digits)}
            if house:
                name = frame.puzzle.houses[place]
                yield Cites(eliminated, (name,)), why | {"group": name}, removes
            else:
                cage = frame.puzzle.cages[place - len(frame.houses)]
                yield Cites(eliminated, cages=(cage,)), why | {"group": cage}, removes


def hidden(state: State, place: int, count: int) -> Iterator[SubsetDeduction]:
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
