"""What some cells leave their surroundings at once: nothing for a cell, a cage, or a digit of a house."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from cagework.solver.bitset import members, set_of
from cagework.solver.combine import combinations_within
from cagework.solver.model import Cage, Cell, House
from cagework.solver.reasoning.balancing import cited_groups
from cagework.solver.reasoning.filling import supported, union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.step import NOTHING, Cites, Digits, Held, joined


@dataclass(frozen=True, slots=True)
class DeadEnd:
    """What has nothing left: a cell no digit, a cage no way to be made, or a house no place for its `digit`, which
    is else 0. `cites` is why. `held` is what a cage's open cells could hold: between them where that makes it in
    no way, else each; and `left` what they have to make.
    """

    leaves: Cell | Cage | House
    cites: Cites
    digit: int = 0
    held: Digits | tuple[Held, ...] = ()
    left: int = 0


@dataclass(frozen=True, slots=True)
class Ground:
    """Where to look for dead ends: candidates, what all of some cells see, and the houses and cages that count.

    `places` are the cells that can hold each digit, `houses` for each digit and `cages` numbers as bits.
    """

    frame: Frame
    masks: Sequence[int]
    places: Sequence[int]
    common: Callable[[int], int]
    houses: Sequence[int]
    cages: int
    link: Callable[[int, int], Cites]

    def dead_end(self, cells: tuple[int, ...], held: tuple[int, ...]) -> DeadEnd | None:
        """Where it ends at once if these cells hold no more than this, each of their digits being in one of them.

        A digit so held leaves every cell that sees all its places.
        """
        own = set_of(cells)
        seen = self._seen(own, cells, held)
        hit = open_ = 0
        for left in seen.values():
            hit |= left
        for index, places in enumerate(self.places):
            open_ |= places & ~seen.get(index, 0)
        if hit & ~open_:
            cell = next(cell for left in seen.values() for cell in members(left) if not open_ >> cell & 1)
            return self._no_digit(cell, cells, held)
        return self._no_place(seen, own, cells, held) or self._no_sum(seen, hit, cells, held)

    def _seen(self, own: int, cells: tuple[int, ...], held: tuple[int, ...]) -> dict[int, int]:
        """The cells that each digit so held leaves (its index -> bits), where there are any, but for these."""
        seen: dict[int, int] = {}
        for index in members(union_of(held)):
            spots = 0
            for cell, mask in zip(cells, held, strict=True):
                if mask >> index & 1:
                    spots |= 1 << cell
            if left := self.places[index] & ~own & self.common(spots):
                seen[index] = left
        return seen

    def _no_digit(self, cell: int, cells: tuple[int, ...], held: tuple[int, ...]) -> DeadEnd:
        frame = self.frame
        used = self.masks[cell]
        lacking = frame.full & ~self.masks[cell]
        own = Cites(((frame.cells[cell], lacking),) if lacking else ())
        return DeadEnd(frame.cells[cell], joined(own, *self._links(cell, used, cells, held)))

    def _no_place(
        self, seen: dict[int, int], own: int, cells: tuple[int, ...], held: tuple[int, ...],
    ) -> DeadEnd | None:
        frame, sets = self.frame, self.frame.house_sets
        gone: dict[int, int] = {}
        for cell, mask in zip(cells, held, strict=True):
            for index in members(self.masks[cell] & ~mask):
                gone[index] = gone.get(index, 0) | 1 << cell
        for index, left in seen.items():
            gone[index] = gone.get(index, 0) | left
        for index, left in gone.items():
            remaining = self.places[index] & ~left
            for house in members(self.houses[index]):
                inside = sets[house]
                if not remaining & inside and left & inside and frame.whole[house]:
                    missing = tuple([(frame.cells[cell], 1 << index) for cell in members(inside & ~left)])
                    links = [link for cell in members(inside & left & ~own)
                             for link in self._links(cell, 1 << index, cells, held)]
                    name = frame.puzzle.houses[house]
                    return DeadEnd(name, joined(Cites(missing, (name,)), *links), index + 1)
        return None

    def _no_sum(
        self, seen: dict[int, int], hit: int, cells: tuple[int, ...], held: tuple[int, ...],
    ) -> DeadEnd | None:
        frame = self.frame
        touched, left = 0, hit
        while left:
            low = left & -left
            left ^= low
            touched |= frame.cage_bits[low.bit_length() - 1]
        for cell in cells:
            touched &= ~frame.cage_bits[cell]
        for cage in members(touched & self.cages):
            total = frame.totals[cage]
            if total is None:
                continue
            open_ = {}
            for cell in frame.cages[cage]:
                mask = self.masks[cell]
                if mask & mask - 1:
                    open_[cell] = mask & ~_lost(seen, cell) if hit >> cell & 1 else mask
                else:
                    total -= mask.bit_length()
            if open_ and not supported(tuple(open_.values()), total):
                names = frame.cells
                missing = tuple([(names[cell], lack) for cell in frame.cages[cage]
                                 if (lack := frame.full & ~self.masks[cell])])
                links = [link for cell in frame.cages[cage] if hit >> cell & 1
                         for link in self._links(cell, _lost(seen, cell), cells, held)]
                name = frame.puzzle.cages[cage]
                cites = joined(Cites(missing, cages=(name,)), *links)
                return DeadEnd(name, cites, held=_held(frame, open_, total), left=frame.told(total, len(open_)))
        return None

    def _links(self, cell: int, digits: int, cells: tuple[int, ...], held: tuple[int, ...]) -> list[Cites]:
        """Why a cell differs from all that hold these digits."""
        return [self.link(one, cell) for one, mask in zip(cells, held, strict=True) if mask & digits]


def _lost(seen: dict[int, int], cell: int) -> int:
    """The digits that leave a cell."""
    lost = 0
    for index, left in seen.items():
        if left >> cell & 1:
            lost |= 1 << index
    return lost


def _held(frame: Frame, open_: dict[int, int], total: int) -> Digits | tuple[Held, ...]:
    """What cells hold that cannot make a total: between them if that shows it, else each."""
    union = union_of(open_.values())
    if not combinations_within(union, len(open_), total):
        return Digits(union)
    return tuple([Held(frame.cells[cell], Digits(mask)) for cell, mask in open_.items() if mask != frame.full])


def open_ground(state: State, since: int = 0) -> Ground:
    """All that is known now; of houses and cages only those that changed after log entry `since`, if any."""
    frame = state.frame
    houses, cages = [(1 << len(frame.houses)) - 1] * frame.size, (1 << len(frame.cages)) - 1
    if since:
        houses, cages = [0] * frame.size, 0
        for cell, gone in state.log[since:]:
            cages |= frame.cage_bits[cell]
            for index in members(gone):
                houses[index] |= frame.house_bits[cell]
    seen = partial(_seen_by_all, frame)
    return Ground(frame, state.candidates, state.digit_places, seen, houses, cages, state.link)


def _seen_by_all(frame: Frame, cells: int) -> int:
    """What all these cells see."""
    return frame.common(cells)[0]


def cited_ground(frame: Frame, cites: Cites, masks: Sequence[int]) -> Ground:
    """What a citation has, where cells hold no more than `masks`."""
    places = [(1 << len(masks)) - 1] * frame.size
    for cell, mask in enumerate(masks):
        for index in members(frame.full & ~mask):
            places[index] ^= 1 << cell
    sees = [0] * len(masks)
    for group in cited_groups(frame, cites):
        for cell in members(group):
            sees[cell] |= group & ~(1 << cell)

    def common(cells: int) -> int:
        """What all these cells see by it."""
        seen = -1
        for cell in members(cells):
            seen &= sees[cell]
        return seen

    houses = set_of(frame.house_number(house) for house in cites.houses)
    return Ground(frame, masks, places, common, [houses] * frame.size,
                  set_of(frame.cage_number(cage) for cage in cites.cages), lambda _one, _other: NOTHING)
