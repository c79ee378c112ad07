"""A digit reserved for a cage, for a house has no other place for it: the ways without the digit go."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import reduce
from operator import and_
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.combine import combinations, combinations_within
from cagework.solver.model import Cage, House
from cagework.solver.reasoning.cage_sums import (
    MOST_LISTED,
    Reach,
    cage_cites,
    cage_open,
    made_of,
    no_other_filling,
    parted,
    removals,
)
from cagework.solver.reasoning.filling import supported, union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Digits, Step, joined


class ReservedDigit(Technique):
    """What no way with the digit has goes from the cage."""

    cost = 480
    weight = 2
    look = Scope.NEAR_CAGE
    many_cases = True
    question = "How can {made} be made?"
    sentences: ClassVar = {
        "few": "In {house}, {needed} can go only in {spots}, so {made} holds {needed}: it is "
               "{combinations}{reason}.",
        "many": "In {house}, {needed} can go only in {spots}, so {made} holds {needed}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """For each house, by one digit if that will do, else by all that the cage must hold for it."""
        left = state.open_cage(place)
        if left is None or len(left.cells) < 2 or len(left.combinations) < 2:
            return
        frame = state.frame
        cage = frame.cage_sets[place]
        varying = union_of(left.combinations) & ~reduce(and_, left.combinations)
        open_ = dict(zip(left.cells, left.kept, strict=True))
        spots = [(1 << index, everywhere & cage, everywhere & ~cage) for index in members(varying)
                 for everywhere in (state.digit_places[index],)]
        for house in members(reduce(lambda met, cell: met | frame.house_bits[cell], left.cells, 0)):
            inside = frame.house_sets[house]
            if not frame.whole[house] or not (inside & cage) & (inside & cage) - 1:
                continue
            needed = [bit for bit, own, others in spots if own & inside and not others & inside]
            for digits in (*needed, sum(needed)) if len(needed) > 1 else needed:
                removes = removals(state, _reach(open_, _ways(open_, left.total, inside, digits)))
                if removes:
                    cites = joined(cage_cites(state, place), Cites(
                        state.missing(inside & ~cage, digits), (frame.puzzle.houses[house],)))
                    yield self.step(state, "", cites, {"needed": Digits(digits)}, removes=removes)
                    break

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The ways to make the cage that have the digits."""
        return max(1, len(_held_ways(frame, step, frame.lost(masks))[-1]))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The house still has no other place for the digits, some way has them, and none of those what goes."""
        reach = _held_reach(frame, step, eliminated)
        return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in step.removes)

    def whole(self, frame: Frame, step: Step) -> Step:
        """The cage's cells have nothing that no way with the digits has."""
        missing = frame.missing(step.cites)
        reach = _held_reach(frame, step, missing)
        gone = [(frame.cells[cell], mask) for cell, kept in reach.items()
                if (mask := frame.full & ~kept & ~missing.get(cell, 0))]
        return replace(step, removes=tuple(gone)) if gone else step

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say where the digits can go, and which ways have them."""
        masks = self.told_by(frame, step, masks)
        cage, house, needed = step.cites.cages[0], step.cites.houses[0], _mask(step)
        open_, total, used = parted(frame, cage, masks)
        ways = tuple(_held_ways(frame, step, frame.lost(masks))[-1])
        spots = tuple([cell for cell in cage.cells if cell in house.cells and masks[frame.index[cell]] & needed])
        without = [way for way in combinations(frame.size, len(open_), total) if needed & ~way]
        why = step.why | {
            "house": house, "made": made_of(frame, cage, masks), "spots": spots,
            "combinations": tuple(map(Digits, ways)),
            "reason": no_other_filling(frame, open_, total, used, (*ways, *without)),
        }
        return replace(step, key="few" if len(ways) <= MOST_LISTED else "many", why=why)


def _mask(step: Step) -> int:
    """The digits that the cage must hold."""
    needed = step.why["needed"]
    assert isinstance(needed, Digits)
    return needed.mask


def _ways(open_: Reach, total: int, inside: int, needed: int) -> dict[int, tuple[int, ...]]:
    """The ways in which open cells make a total with these digits among them, in cells `inside`, each with what
    the cells can then hold.
    """
    held = [mask if inside >> cell & 1 else mask & ~needed for cell, mask in open_.items()]
    ways = combinations_within(union_of(held), len(held), total) if held else ()
    return {way: kept for way in ways
            if not needed & ~way and (kept := supported(tuple([mask & way for mask in held]), total))}


def _reach(open_: Iterable[int], ways: Mapping[int, tuple[int, ...]]) -> Reach:
    """What open cells can hold in these ways."""
    return {cell: union_of(kept[number] for kept in ways.values()) for number, cell in enumerate(open_)}


def _held_ways(
    frame: Frame, step: Step, eliminated: Mapping[int, int],
) -> tuple[Reach, tuple[int, ...], dict[int, tuple[int, ...]]]:
    """What the cage's cells hold where just these digits are missing, the open ones, and the ways that have the
    digits.
    """
    reach, open_, total = cage_open(frame, step.cites.cages[0], eliminated)
    inside = set_of(map(frame.index.__getitem__, step.cites.houses[0].cells))
    return reach, open_, _ways({cell: reach[cell] for cell in open_}, total, inside, _mask(step))


def _held_reach(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> Reach:
    """What the cage's cells can hold where just these digits are missing; nothing is known of any where the
    house has another place for the digits, or no way has them.
    """
    cage, needed = step.cites.cages[0], _mask(step)
    if not _is_kept(frame, cage, step.cites.houses[0], needed, eliminated):
        return {}
    reach, open_, ways = _held_ways(frame, step, eliminated)
    return reach | _reach(open_, ways) if ways else {}


def _is_kept(frame: Frame, cage: Cage, house: House, needed: int, eliminated: Mapping[int, int]) -> bool:
    """Whether no cell of the house outside the cage holds any of these digits."""
    others = [frame.index[cell] for cell in house.cells if cell not in cage.cells]
    return all(not needed & ~eliminated.get(cell, 0) for cell in others)
