"""A digit that every combination of a cage uses: it goes in the cage, and so nowhere else that sees it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import reduce
from operator import and_
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.combine import combinations_within
from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import (
    MOST_LISTED,
    barred,
    barred_by_notes,
    cage_cases,
    cage_cites,
    cage_left,
    cage_open,
    parted,
    told_masks,
    ways_left,
    ways_why,
)
from cagework.solver.reasoning.clashes import clashes
from cagework.solver.reasoning.elsewhere import (
    cited_elsewhere,
    cover,
    emptied,
    group_cites,
    linked,
    without_idle,
)
from cagework.solver.reasoning.filling import union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import MOST_NAMED, NAMES, Scope, Technique, ways_told
from cagework.solver.step import Cites, Digits, Else, Step, Why, joined

_MOST_TRIED = 12
"""The most ways to hold a digit elsewhere that are looked through for what they have in common."""

_TOLD_OF = frozenset({"only", "some", "all_few", "room_few", "all", "room"})
"""Keys of sentences that begin with a cage and its ways."""


class NeededDigit(Technique):
    """Digits in every combination left: they go from all that sees each place they have in the cage."""

    cost = 300
    look = Scope.CAGE
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "places": "{cage} needs {digits}, which only {cells} can hold{else}.",
        "places_few": "{made} is {combinations}{reason}. It needs {digits}, which only {cells} can hold{else}.",
        "places_many": "Every way to make {made} needs {digits}, which only {cells} can hold{else}.",
        "set": "{cells}, with nothing else left, are {digits:set}, so no other cell {where} can be {digits:or}.",
        "set_all": "{cells}, all of {cage}, are {digits:set}, so no other cell {where} can be {digits:or}.",
        "set_rest": "{cells}, the rest of {cage}, add to {sum} and are {digits:set}, so no other cell {where} can "
                    "be {digits:or}.",
        "lone": "{made} can only be {digits:set}{reason}.",
        "so": "So no other cell {where} can be {digits:or}.",
        "only": "{made} can only be {digits:set}{reason}, so no other cell {where} can be {digits:or}.",
        "it_places": "It needs {digits}, which only {cells} can hold{else}.",
        "it_all": "It needs {digits}, so no other cell {where} can be {digits:or}.",
        "it_room": "It needs {digits} and has room only in {cells}{else}, so no other cell {where} can be "
                   "{digits:or}.",
        "all": "{cage} needs {digits}, so no other cell {where} can be {digits:or}.",
        "all_few": "{made} is {combinations}{reason}. It needs {digits}, so no other cell {where} can be "
                   "{digits:or}.",
        "all_many": "Every way to make {made} needs {digits}, so no other cell {where} can be {digits:or}.",
        "room": "{cage} needs {digits} and has room only in {cells}{else}, so no other cell {where} can be "
                "{digits:or}.",
        "room_few": "{made} is {combinations}{reason}. It needs {digits} and has room only in {cells}{else}, so "
                    "no other cell {where} can be {digits:or}.",
        "room_many": "Every way to make {made} needs {digits}, with room only in {cells}{else}, so no other cell "
                     "{where} can be {digits:or}.",
    }
    lead = "Some cages use up digits: {items}."
    clauses: ClassVar = {
        "all": "{cage} takes {digits} from any other cell {where}",
        "room": "{cage} has room for {digits} only in {cells}{else}, and takes {digits:it|them} from any other "
                "cell {where}",
        "set": "{cells}, {digits:set}, take {digits} from any other cell {where}",
        "set_all": "{cells}, {digits:set} (all of {cage}), take {digits} from any other cell {where}",
        "set_rest": "{cells}, {digits:set} (the rest of {cage}, {sum}), take {digits} from any other cell {where}",
    }
    in_brief: ClassVar = {
        "places": "{cells} is {digits} ({cage} needs it and has room for it nowhere else)",
        "places_few": "{cells} is {digits} ({made} is {combinations}{reason}, and {digits} can go nowhere else in "
                      "it)",
        "places_many": "{cells} is {digits} (every way to make {made} needs it, and it can go nowhere else in it)",
    }
    in_passing: ClassVar = clauses | {
        "only": "{made} is {digits:set}{reason}, and takes {digits:it|them} from any other cell {where}",
        "lone": "{made} is {digits:set}{reason}",
        "all_few": "{made} is {combinations}{reason}, and takes {digits} from any other cell {where}",
        "all_many": "every way to make {made} takes {digits} from any other cell {where}",
        "room_few": "{made} is {combinations}{reason}, with room for {digits} only in {cells}{else}, and takes "
                    "{digits:it|them} from any other cell {where}",
        "room_many": "every way to make {made} needs {digits}, with room only in {cells}{else}, and takes "
                     "{digits:it|them} from any other cell {where}",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each digit with one place, and for digits that go from the same houses and cells."""
        left = state.open_cage(place)
        if left is None or not left.combinations or len(left.cells) == 1:
            return
        frame = state.frame
        houses = (1 << len(frame.houses)) - 1
        gone: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
        for index in members(reduce(and_, left.combinations)):
            places = set_of(cell for cell, mask in zip(left.cells, left.kept, strict=True) if mask >> index & 1)
            if not places & places - 1:
                if state.candidates[places.bit_length() - 1] != 1 << index:
                    yield self._step(state, place, places=((places.bit_length() - 1, 1 << index),))
                continue
            common, homes = frame.common(places)
            outside = state.digit_places[index] & ~frame.cage_sets[place] & common
            homes &= houses
            if outside:
                _, seen = cover(frame, members(homes), outside)
                gone.setdefault((homes, places if seen else 0), []).append((index, places, outside))
        for (homes, _), digits in gone.items():
            yield self._removing(state, place, homes, digits)

    def _removing(self, state: State, place: int, homes: int, digits: list[tuple[int, int, int]]) -> Step:
        frame = state.frame
        removes: dict[int, int] = {}
        used = 0
        for index, places, outside in digits:
            used |= places
            for cell in members(outside):
                removes[cell] = removes.get(cell, 0) | 1 << index
        chosen, seen = cover(frame, members(homes), set_of(removes))
        links = [state.link(cell, target) for target in members(seen) for cell in members(used)]
        return self._step(state, place, group_cites(frame, chosen), *links, removes=removes.items())

    def _step(
        self, state: State, place: int, *cites: Cites, places: tuple[tuple[int, int], ...] = (),
        removes: Iterable[tuple[int, int]] = (),
    ) -> Step:
        why: Why = {"cage": state.frame.puzzle.cages[place]}
        return self.step(state, "", joined(cage_cites(state, place), *cites), why, places=places, removes=removes)

    def told_after(self, last: Step | None, step: Step) -> tuple[str, ...]:
        """A cage that was just told of, with the ways to make it, is not named again."""
        head = step.key.removesuffix("_few")
        if (last is not None and f"it_{head}" in self.sentences and last.cites.cages[:1] == step.cites.cages[:1]
                and last.key in _TOLD_OF and (head == step.key or ways_told(last) == ways_told(step))):
            return self.templates(f"it_{head}")
        return super().told_after(last, step)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The digits are still needed, and still have no place in the cage but those."""
        cites = step.cites
        if cites.cages[:1] != (step.why["cage"],):
            return False
        reach, left = cage_left(frame, cites.cages[0], eliminated)
        gone = _digits(step)
        used = _used(reach, gone)
        if not left or any(gone & ~combination for combination in left):
            return False
        if step.places:
            return used == 1 << frame.index[step.places[0][0]]
        own = set(cites.cages[0].cells)
        return (linked(frame, cites, cites.cages[0], used, [one for one in step.removes if one[0] not in own])
                and not any(reach[frame.index[cell]] & mask for cell, mask in step.removes if cell in own))

    def whole(self, frame: Frame, step: Step) -> Step:
        """No other cell of these houses and cages has the digits, nor any of its own; what sees them all besides
        loses what it did.
        """
        cage, digits = step.cites.cages[0], _digits(step)
        if step.places:
            return step
        missing = frame.missing(step.cites)
        reach, ways = cage_left(frame, cage, missing)
        _, open_, _ = cage_open(frame, cage, missing)
        used = _used(reach, digits)
        if used == set_of(open_) and len(ways) == 1:    # it is told by the only way: so its own cells lose others
            digits, step = ways[0], barred(frame, step)
        lost = dict(emptied(frame, step.cites, cage, used, digits))
        lost |= {frame.cells[cell]: gone for cell in open_ if not used >> cell & 1
                 and (gone := digits & ~missing.get(cell, 0))}
        for cell, mask in step.removes:
            lost[cell] = lost.get(cell, 0) | mask
        return replace(step, removes=tuple(lost.items()))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say which cells have room for the digits, and what loses them."""
        masks = self.told_by(frame, step, told_masks(frame, step, masks))
        cage = step.cites.cages[0]
        reach, _ = cage_left(frame, cage, {frame.index[cell]: frame.full & ~masks[frame.index[cell]]
                                           for cell in cage.cells})
        return self._said(frame, step, _used(reach, _digits(step)), masks)

    def as_told(self, frame: Frame, said: Step, masks: Sequence[int]) -> Step:
        """A step that names the only digits left for a cage strikes all of them, and one that lists the ways to
        make it strikes what is in none.
        """
        if said.key.endswith("_few") and said.removes:
            return _with_barred(frame, said, masks)
        if said.key not in NAMES:
            return said
        own = [(cell, frame.full & ~masks[frame.index[cell]]) for cell in said.cites.cages[0].cells]
        lacking = Cites(tuple([(cell, mask) for cell, mask in own if mask]))
        more = self.whole(frame, replace(said, cites=joined(said.cites, lacking)))
        removes = [(cell, mask & masks[frame.index[cell]]) for cell, mask in more.removes]
        return replace(more, removes=tuple([(cell, mask) for cell, mask in removes if mask]))

    def _said(self, frame: Frame, step: Step, used: int, masks: Sequence[int]) -> Step:
        """The step with its sentence and values, where the digits it is about have these cells."""
        cage = step.cites.cages[0]
        left, digits = ways_left(frame, cage, masks), _digits(step)
        cited, _ = cage_left(frame, cage, frame.missing(step.cites))
        outside = tuple([(cell, mask) for cell, mask in step.removes
                         if cell not in cage.cells and (mask & digits or not digits)])
        where = cited_elsewhere(frame, step.cites, cage, _used(cited, digits), outside)
        held = [masks[frame.index[cell]] for cell in cage.cells]
        open_ = set_of(cell for cell in map(frame.index.__getitem__, cage.cells) if masks[cell].bit_count() > 1)
        filled = union_of(mask for mask in held if mask.bit_count() == 1)
        known = len(left) == 1 and not union_of(held) & ~(left[0] | filled)
        many = "" if known else "_few" if len(left) <= MOST_LISTED else "_many"
        head = "places" if step.places else "all" if used == open_ and not where.cells else "room"
        if used == open_ and len(left) == 1 and left[0].bit_count() <= MOST_NAMED and not step.places:
            part = "set_rest" if filled else "set_all"
            head, digits, many = part if known else "only" if where.groups or where.cells else "lone", left[0], ""
        elif head == "room" and used.bit_count() == digits.bit_count() <= MOST_NAMED and not any(
                masks[cell] & ~digits for cell in members(used)):
            head, many = "set", ""      # the notes say so already
            named = {cell for group in where.groups for cell in group.cells}
            if any(cell in cage.cells and cell not in named for cell, _ in step.removes):
                where = replace(where, groups=(*where.groups, cage))
        why: Why = ways_why(frame, cage, masks, left) | {
            "cage": cage, "digits": Digits(digits), "where": where, "sum": frame.made_by(digits),
            "cells": tuple([frame.cells[cell] for cell in members(used)]),
            "else": _else(frame, cage, masks, digits, used),
        }
        cites = step.cites if step.places else without_idle(step.cites, cage, where)
        return replace(step, key=head + many, why=why, cites=cites)


def _with_barred(frame: Frame, said: Step, masks: Sequence[int]) -> Step:
    """The step with what is in no way to make its cage struck from that where cells hold `masks`."""
    own = barred_by_notes(frame, replace(said, removes=()), masks)
    removes = dict(said.removes)
    for cell, mask in own.removes:
        removes[cell] = removes.get(cell, 0) | mask
    return replace(said, removes=tuple(removes.items()), cites=joined(said.cites, Cites(own.cites.eliminated)))


def _digits(step: Step) -> int:
    """The digits that a step is about: those it places, or strikes outside the cage."""
    own = set(step.cites.cages[0].cells)
    return union_of([mask for cell, mask in step.removes if cell not in own]
                    + [1 << digit - 1 for _, digit in step.places])


def _else(frame: Frame, cage: Cage, masks: Sequence[int], digits: int, used: int) -> Else:
    """Why no other open cell of a cage that can hold one of these digits does so; there may be none."""
    open_, left, _ = parted(frame, cage, masks)
    spots = [(cell, index) for cell, mask in open_.items() if not used >> cell & 1
             for index in members(mask & digits)]
    tries = []
    for cell, index in spots:
        others = {one: mask & ~(1 << index) for one, mask in open_.items() if one != cell}
        tries += [(others, way) for way in combinations_within(union_of(others.values()), len(others),
                                                               left - index - 1)]
    reasons = clashes(frame.cells, tries) if len(tries) <= _MOST_TRIED else ()
    ways = sorted({way for _, way in tries})
    return Else(Digits(union_of(1 << index for _, index in spots)), reasons,
                tuple(map(Digits, ways)) if len(ways) <= MOST_LISTED else (),
                () if tries else tuple(sorted(
                    {frame.told(left - index - 1, len(open_) - 1) for _, index in spots})))


def _used(reach: Mapping[int, int], digits: int) -> int:
    """The cells of a cage that can hold any of these digits, as bits."""
    return set_of(cell for cell, mask in reach.items() if mask & digits)
