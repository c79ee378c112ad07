"""Two cages that get in each other's way: a filling of one that leaves the other none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import ClassVar

from cagework.solver.fill import fillings, supported, union_of
from cagework.solver.frame import Frame, members, set_of
from cagework.solver.state import OpenCage, State, joined
from cagework.solver.step import Digits, Step, Why
from cagework.solver.sums import cage_cites
from cagework.solver.technique import Look, Technique

_MOST_FILLINGS = 40
"""A cage that can be filled in more ways than this is not gone through."""


class CagesClash(Technique):
    """All fillings of the one cage, each against what it leaves the other."""

    cost = 76
    look = Look.CAGE
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
        ways = fillings(tuple([state.candidates[cell] for cell in left.cells]), left.total, _MOST_FILLINGS)
        if not ways:
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
            apart = [set_of(i for i, cell in enumerate(left.cells) if frame.sees[cell] >> near & 1)
                     for near in other.cells]
            if sum(links.bit_count() for links in apart) < 2:
                continue
            masks = [state.candidates[cell] for cell in other.cells]
            reach = _reach(ways, apart, masks, other.total)
            yield from self._steps(state, (place, number), (left, other), reach)

    def _steps(
        self, state: State, pair: tuple[int, int], left: tuple[OpenCage, OpenCage], reach: Sequence[int]
    ) -> Iterator[Step]:
        frame = state.frame
        cells = left[0].cells + left[1].cells
        if 0 in reach:
            return
        for number, (cell, mask) in enumerate(zip(cells, reach, strict=True)):
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
                key = "first" if number < len(left[0].cells) else "second"
                yield self.step(state, key, cites, why, removes=((cell, gone),))

    def holds(self, frame: Frame, step: Step, struck: Mapping[int, int]) -> bool:
        """The two cages still clash, by the houses and pairs that are cited."""
        if len(step.cites.cages) != 2:
            return False
        groups = [{frame.index[cell] for cell in house.cells} for house in step.cites.houses]
        groups += [{frame.index[pair.first], frame.index[pair.second]} for pair in step.cites.pairs]
        open_: list[list[int]] = []
        masks: list[list[int]] = []
        totals = []
        for cage in step.cites.cages:
            cells = [frame.index[cell] for cell in cage.cells]
            mask = {cell: frame.full & ~struck.get(cell, 0) for cell in cells}
            open_.append([cell for cell in cells if mask[cell] & mask[cell] - 1])
            masks.append([mask[cell] for cell in open_[-1]])
            totals.append((cage.total or 0) - sum(
                mask[cell].bit_length() for cell in cells if cell not in open_[-1]))
        ways = fillings(tuple(masks[0]), totals[0], 4 * _MOST_FILLINGS)
        apart = [set_of(i for i, cell in enumerate(open_[0]) if any(cell in g and near in g for g in groups))
                 for near in open_[1]]
        if not ways:
            return False
        reach = dict(zip(open_[0] + open_[1], _reach(ways, apart, masks[1], totals[1]), strict=True))
        return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in step.removes)


def _reach(
    ways: Sequence[tuple[int, ...]], apart: Sequence[int], masks: Sequence[int], total: int
) -> list[int]:
    """What the cells of both cages can hold, by each filling of the first that leaves the second one."""
    first = [0] * len(ways[0])
    second = [0] * len(masks)
    all_, whole = [union_of(bits) for bits in zip(*ways, strict=True)], list(masks)
    linked = [(mask, members(links)) for mask, links in zip(masks, apart, strict=True)]
    for way in ways:
        narrowed = []
        for mask, links in linked:
            for i in links:
                mask &= ~way[i]
            narrowed.append(mask)
        if 0 in narrowed:
            continue
        kept = supported(tuple(narrowed), total)
        if kept:
            for i, bit in enumerate(way):
                first[i] |= bit
            for i, mask in enumerate(kept):
                second[i] |= mask
            if second == whole and first == all_:
                break
    return first + second
