"""Two cages that get in each other's way: a filling of one that leaves the other none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.joint_steps import sight
from cagework.solver.reasoning.state import OpenCage, State
from cagework.solver.reasoning.sums import cage_cites
from cagework.solver.reasoning.table_constraints import SumConstraint, tables_of
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why, joined

_MOST_FILLINGS = 40
"""A cage that can be filled in more ways than this is not gone through."""


class CagesClash(Technique):
    """All fillings of the one cage, each against what it leaves the other."""

    cost = 76
    weight = 60
    look = Scope.CAGE
    sentences: ClassVar = {
        "first": "With {digits:or} in {cell}, {one} would leave {two} no way to be made.",
        "second": "With {digits:or} in {cell}, {two} would leave {one} no way to be made.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each cell of either cage that loses a digit."""
        frame = state.frame
        left = state.open_cage(place)
        if left is None or len(left.cells) < 2 or not left.combinations:
            return
        seen = 0
        for cell in left.cells:
            seen |= frame.sees[cell]
        others = {number for cell in members(seen & ~state.placed & ~frame.cage_sets[place])
                  for number in frame.cages_of[cell]}
        for number in sorted(others):
            other = state.open_cage(number)
            if other is None or len(other.cells) < 2 or not other.combinations:
                continue
            near = set_of(other.cells)
            if sum([(frame.sees[cell] & near).bit_count() for cell in left.cells]) < 2:
                continue
            reach = _reach(frame, (place, number), state.candidates, frame.sees, _MOST_FILLINGS)
            yield from self._steps(state, (place, number), (left, other), reach)

    def _steps(
        self, state: State, pair: tuple[int, int], left: tuple[OpenCage, OpenCage], reach: Mapping[int, int]
    ) -> Iterator[Step]:
        frame = state.frame
        for cell, mask in reach.items():
            gone = state.candidates[cell] & ~mask
            if gone:
                links = [
                    state.link(one, two) for one in left[0].cells for two in left[1].cells
                    if frame.sees[one] >> two & 1
                ]
                cites = joined(*(cage_cites(state, cage) for cage in pair), *links)
                why: Why = {
                    "one": frame.puzzle.cages[pair[0]], "two": frame.puzzle.cages[pair[1]],
                    "digits": Digits(gone), "cell": frame.cells[cell],
                }
                key = "first" if cell in left[0].cells else "second"
                yield self.step(state, key, cites, why, removes=((cell, gone),))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The two cages still clash, by the houses and pairs that are cited."""
        if len(step.cites.cages) != 2:
            return False
        one, other = (frame.cage_number(cage) for cage in step.cites.cages)
        masks, sees = frame.lacking(eliminated), sight(frame, step.cites)
        reach = _reach(frame, (one, other), masks, sees, 4 * _MOST_FILLINGS)
        return bool(reach) and all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)


def _reach(
    frame: Frame, pair: tuple[int, int], masks: Sequence[int], sees: Sequence[int], most: int,
) -> dict[int, int]:
    """What the cells of both cages can hold, by each way to fill the first that leaves the second one.

    Empty where that leaves nothing, or the first has more ways than `most`.
    """
    tables = tables_of(frame)
    cages = [tables.cage(number) for number in pair]
    candidates = [cage.packed(masks) for cage in cages]
    one, other = map(SumConstraint.table, cages, candidates)
    if one is None or other is None:
        return {}
    tuples, others = one.valid(candidates[0]), other.valid(candidates[1])
    compatible = tables.compatibility(one, other, sees)
    if compatible is None or tuples.bit_count() > most:
        return {}
    first = second = 0
    while tuples:
        tuple_ = tuples & -tuples
        tuples ^= tuple_
        rest = others & compatible[tuple_.bit_length() - 1]
        if rest:
            first |= tuple_
            second |= rest
    reach = one.supported(first), other.supported(second)
    return {cell: digits >> frame.size * cell & frame.full for cage, digits in zip(cages, reach, strict=True)
            for cell in cage.cells} if first else {}
