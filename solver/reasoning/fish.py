"""What fish of any size share: a digit confined, in k parallel houses, to k houses across."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from cagework.solver.bitset import members
from cagework.solver.model import HouseKind
from cagework.solver.reasoning.state import State
from cagework.solver.step import Cites, Why


def fish(state: State, place: int, count: int) -> Iterator[tuple[Cites, Why, list[tuple[int, int]]]]:
    """Yield citation, values and removals for each fish of a digit, on rows and on columns."""
    frame = state.frame
    everywhere = state.digit_places[place]
    kinds = [house.kind for house in frame.puzzle.houses]
    rows = [n for n, kind in enumerate(kinds) if kind is HouseKind.ROW and frame.whole[n]]
    columns = [n for n, kind in enumerate(kinds) if kind is HouseKind.COLUMN and frame.whole[n]]
    for along, across in ((rows, columns), (columns, rows)):
        few = [n for n in along if 2 <= (everywhere & frame.house_sets[n]).bit_count() <= count]
        for base in combinations(few, count):
            inside = 0
            for number in base:
                inside |= frame.house_sets[number]
            if inside.bit_count() < count * frame.size:
                continue        # houses that overlap may share the digit
            places = everywhere & inside
            cover = [n for n in across if places & frame.house_sets[n]]
            if len(cover) != count:
                continue
            over = 0
            for number in cover:
                over |= frame.house_sets[number]
            targets = everywhere & over & ~inside
            if targets and not places & ~over:
                houses = frame.puzzle.houses
                based, covered = tuple([houses[n] for n in base]), tuple([houses[n] for n in cover])
                cites = Cites(state.missing(inside & ~over, 1 << place), based + covered)
                why: Why = {
                    "digit": place + 1, "base": based, "cover": covered, "cells": state.names(places),
                }
                yield cites, why, [(cell, 1 << place) for cell in members(targets)]
