"""A digit that every combination of a cage uses: it goes in the cage, and so nowhere else that sees it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.cage_sums import cage_cases, cage_cites, cage_left
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Digits, Step, Why, joined


class NeededDigit(Technique):
    """Digits in every combination left, all of whose places in the cage lie in one house."""

    cost = 30
    look = Scope.CAGE
    simple = True
    many_cases = True
    sentences: ClassVar = {
        "places": "{cage} needs {digit}, which only {cell} can hold.",
        "removes": "{cage} needs {digits} and has room for {digits:it|them} only in {house}, "
                   "so no other cell of {house} can be {digits:or}.",
        "seen": "{cage} needs {digit}, and {cell} sees every place for it there, so {cell} is not {digit}.",
    }
    lead = "Some cages use up digits of a house: {items}."
    clauses: ClassVar = {"removes": "{cage} takes {digits} from the rest of {house}"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each digit with one place, for each house, and for each other cell that sees all places."""
        left = state.open_cage(place)
        if left is None or not left.combinations or len(left.cells) == 1:
            return
        frame = state.frame
        needed = frame.full
        for combination in left.combinations:
            needed &= combination
        by_house: dict[int, int] = {}
        for index in members(needed):
            places = set_of(cell for cell, mask in zip(left.cells, left.kept, strict=True) if mask >> index & 1)
            if not places & places - 1:
                yield from self._placing(state, place, places.bit_length() - 1, 1 << index)
                continue
            outside = state.digit_places[index] & ~frame.cage_sets[place]
            for cell in members(places):
                outside &= frame.sees[cell]
            for house in frame.houses_of[places.bit_length() - 1] if outside else ():
                if not places & ~frame.house_sets[house] and outside & frame.house_sets[house]:
                    by_house[house] = by_house.get(house, 0) | 1 << index
                    outside &= ~frame.house_sets[house]
            for target in members(outside):
                yield self._seen(state, place, places, target, index)
        for house, digits in by_house.items():
            yield self._removing(state, place, house, digits)

    def _placing(self, state: State, place: int, cell: int, bit: int) -> Iterator[Step]:
        if state.candidates[cell] != bit:
            frame = state.frame
            why: Why = {"cage": frame.puzzle.cages[place], "digit": bit.bit_length(), "cell": frame.cells[cell]}
            yield self.step(state, "places", cage_cites(state, place), why, places=((cell, bit),))

    def _removing(self, state: State, place: int, house: int, digits: int) -> Step:
        frame = state.frame
        cage, name = frame.puzzle.cages[place], frame.puzzle.houses[house]
        removes = [
            (cell, gone) for cell in members(frame.house_sets[house] & ~frame.cage_sets[place] & ~state.placed)
            if (gone := state.candidates[cell] & digits)
        ]
        cites = joined(cage_cites(state, place), Cites(houses=(name,)))
        return self.step(state, "removes", cites, {"cage": cage, "digits": Digits(digits), "house": name},
                         removes=removes)

    def _seen(self, state: State, place: int, places: int, target: int, index: int) -> Step:
        frame = state.frame
        cites = joined(cage_cites(state, place), *(state.link(cell, target) for cell in members(places)))
        why: Why = {"cage": frame.puzzle.cages[place], "digit": index + 1, "cell": frame.cells[target]}
        return self.step(state, "seen", cites, why, removes=((target, 1 << index),))

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage."""
        return cage_cases(frame, step.cites.cages[0], masks)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The digits are still needed, and still have no place in the cage but those."""
        if step.cites.cages[:1] != (step.why["cage"],):
            return False
        reach, left = cage_left(frame, step.cites.cages[0], eliminated)
        needed = frame.full if left else 0
        for combination in left:
            needed &= combination
        if step.key == "seen":
            return self._still_seen(frame, step, reach, needed)
        if step.key == "places":
            (name, digit), = step.places
            places = [cell for cell, mask in reach.items() if mask >> digit - 1 & 1]
            return needed >> digit - 1 & 1 == 1 and places == [frame.index[name]]
        gone = 0
        for _, mask in step.removes:
            gone |= mask
        if not step.cites.houses:
            return False
        inside = set_of(frame.index[cell] for cell in step.cites.houses[0].cells)
        return not gone & ~needed and all(inside >> cell & 1 for cell, mask in reach.items() if mask & gone)

    def _still_seen(self, frame: Frame, step: Step, reach: Mapping[int, int], needed: int) -> bool:
        """Whether what is cited beside the cage links every place of the digit to the cell."""
        ((name, bit),) = step.removes
        cites = step.cites
        groups = [house.cells for house in cites.houses] + [cage.cells for cage in cites.cages[1:]]
        groups += [(pair.first, pair.second) for pair in cites.pairs]
        linked = {cell for group in groups if name in group for cell in group}
        return needed & bit != 0 and all(frame.cells[cell] in linked for cell, mask in reach.items() if mask & bit)
