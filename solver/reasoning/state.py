"""What is known part way through a puzzle: candidates, placed cells, what cages and balances still leave open.

It is built from the puzzle alone and never sees the answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from cagework.solver.bitset import members
from cagework.solver.model import Cell
from cagework.solver.reasoning.doom import Doom
from cagework.solver.reasoning.filling import fits
from cagework.solver.reasoning.frame import Frame
from cagework.solver.step import Cites, Eliminated, Step

FEW = 4
"""At most this many open cells in a balance are tried digit by digit; of more only the bounds are looked at."""

MANY = 9
"""A balance with more open cells than this says too little to be looked at."""


@dataclass(frozen=True, slots=True)
class Balance:
    """Houses added up, cages taken away: the open cells `plus` less the open cells `minus` make `total`.

    `fixed` are placed cells already counted in the total, `taken` the cages and, numbered as the frame does, the
    sums that rules state; `stated` tells whether there are any of these.
    """

    area: int
    plus: tuple[int, ...]
    minus: tuple[int, ...]
    total: int
    fixed: tuple[int, ...]
    taken: tuple[int, ...]
    stated: bool = False


@dataclass(frozen=True, slots=True)
class OpenCage:
    """What is left of a cage: its open cells, what they add to, what each can hold, the combinations left; and by
    technique what follows of that alone, as far as it was looked for.
    """

    cells: tuple[int, ...]
    total: int
    kept: tuple[int, ...]
    combinations: tuple[int, ...]
    found: dict[str, list[Step]] = field(default_factory=dict, compare=False)


LOOKS_A_SECOND = 100_000
"""How much work passes for a second: half of what a machine of 2026 does in one, so it seldom takes longer."""


_REMEMBERED = 1 << 14
"""Cages in some state of which it is kept what is left of them."""

_NARROWING = 5
"""What it takes to see whether a candidate fails, in looks of a simple technique; most are known already."""


class WorkSpentError(Exception):
    """What a path may cost is used up."""


class Work:
    """What finding a path may still cost, in looks of a simple technique at one place: counted, never timed, so
    that any machine, however busy, finds the same path. `seconds` are of LOOKS_A_SECOND; None is without end.
    """

    __slots__ = ("_most", "spent")

    def __init__(self, seconds: float | None = None) -> None:
        self._most = math.inf if seconds is None else seconds * LOOKS_A_SECOND
        self.spent = 0

    def spend(self, looks: int) -> None:
        """Count looks that are about to be made. WorkSpentError where they are too many."""
        self.spent += looks
        if self.spent > self._most:
            raise WorkSpentError


def _opened(cells: tuple[int, ...], filled: int, masks: tuple[int, ...], total: int) -> OpenCage:
    """What is left of a cage of which these cells are filled."""
    open_, held = [], []
    for cell, mask in zip(cells, masks, strict=True):
        if filled >> cell & 1:
            total -= mask.bit_length()
        else:
            open_.append(cell)
            held.append(mask)
    return OpenCage(tuple(open_), total, *fits(tuple(held), total))


def _link(frame: Frame, one: int, other: int) -> Cites:
    """Why two cells differ."""
    both = 1 << one | 1 << other
    for house in frame.houses_of[one]:
        if not both & ~frame.house_sets[house]:
            return Cites(houses=(frame.puzzle.houses[house],))
    for cage in frame.cages_of[one]:
        if not both & ~frame.cage_sets[cage]:
            return Cites(cages=(frame.puzzle.cages[cage],))
    return Cites(pairs=(frame.differ[one, other],))


class State:
    """Candidates as one mask per cell (bit d - 1 stands for digit d), changed only by `place` and `eliminate`.

    `digit_places[i]` are the cells that can hold digit i + 1, `placed` the cells that hold a digit, both as bits.
    `log` lists every change as (cell, digits eliminated), oldest first. `in_vain` holds what the trying of a
    cage's ways has come to, for whoever tries them again, and `tried` is whether there was a trial. `is_settled`
    says that no simple technique finds anything as things stand, and `is_followed` that a supposition is followed
    in it: what is found then is found again on other ways.
    """

    __slots__ = ("_alone", "_balances", "_cages", "_doom", "_few", "_inside", "_many", "_opened", "_outside",
                 "_stale", "_terms", "_uncounted", "candidates", "digit_places", "frame", "in_vain", "is_followed",
                 "is_settled", "log", "placed", "tried", "work")

    def __init__(self, frame: Frame, work: Work | None = None) -> None:
        self.frame = frame
        self.work = work or Work()
        self.candidates = frame.printed[:]
        self.digit_places = frame.printed_places[:]
        self.placed = 0
        self.tried = self.is_settled = self.is_followed = False
        self.log: list[tuple[int, int]] = []
        self._doom: Doom | None = None
        self.in_vain: dict[tuple[int, ...], tuple[int, tuple[int, ...], tuple[int, ...]]] = {}
        self._alone = self._few = self._many = 0
        self._inside: list[int] = []
        self._outside: list[int] = []
        self._terms: list[int] = []
        self._uncounted: list[int] = []
        self._balances: list[tuple[int, Balance] | None] = [None] * len(frame.areas)
        self._cages: list[OpenCage | None] = [None] * len(frame.cages)
        self._opened: dict[tuple[int, int, tuple[int, ...]], OpenCage] = {}
        self._stale = (1 << len(frame.cages)) - 1

    def copy(self) -> State:
        """Return a state that changes apart from this one, at the cost of the same work; its log starts empty."""
        if self._terms:
            self._count()
        other = object.__new__(State)
        other.frame, other.work = self.frame, self.work
        other.candidates = self.candidates[:]
        other.digit_places = self.digit_places[:]
        other.placed, other.tried, other.is_settled = self.placed, self.tried, self.is_settled
        other.log = []
        other._doom, other.in_vain = None, {}
        other._alone, other._few, other._many = self._alone, self._few, self._many
        other._inside, other._outside, other._terms = self._inside[:], self._outside[:], self._terms[:]
        other._uncounted = self._uncounted[:]
        other.is_followed = True
        other._balances = self._balances[:]
        other._cages, other._opened = self._cages[:], self._opened
        other._stale = self._stale
        return other

    def eliminate(self, cell: int, mask: int) -> None:
        """Remove the digits of `mask` from a cell, as far as it has them."""
        gone = self.candidates[cell] & mask
        if gone:
            self.candidates[cell] ^= gone
            self.log.append((cell, gone))
            self._stale |= self.frame.cage_bits[cell]
            places = self.digit_places
            keep = ~(1 << cell)
            while gone:
                bit = gone & -gone
                places[bit.bit_length() - 1] &= keep
                gone ^= bit

    def place(self, cell: int, bit: int) -> None:
        """Put a digit (as a one-bit mask) in an open cell and eliminate it from every cell that sees it."""
        self.eliminate(cell, ~bit)
        self.candidates[cell] = bit
        self.log.append((cell, 0))
        self.placed |= 1 << cell
        self._stale |= self.frame.cage_bits[cell]
        self._uncounted.append(cell)
        seen = self.digit_places[bit.bit_length() - 1] & self.frame.sees[cell]
        if seen:
            self.digit_places[bit.bit_length() - 1] ^= seen
            candidates, log, cages, stale = self.candidates, self.log, self.frame.cage_bits, self._stale
            while seen:
                low = seen & -seen
                peer = low.bit_length() - 1
                seen ^= low
                candidates[peer] ^= bit
                log.append((peer, bit))
                stale |= cages[peer]
            self._stale = stale

    def apply(self, step: Step) -> None:
        """Do what a step says."""
        index = self.frame.index
        if step.is_trial:
            self.tried = True
        for name, digit in step.places:
            self.place(index[name], 1 << digit - 1)
        for name, mask in step.removes:
            self.eliminate(index[name], mask)

    def changes_by(self, step: Step) -> bool:
        """Whether a step would still place or strike anything."""
        index, candidates = self.frame.index, self.candidates
        for name, digit in step.places:
            cell = index[name]
            if not self.placed >> cell & 1 and candidates[cell] >> digit - 1 & 1:
                return True
        return any(candidates[index[name]] & mask for name, mask in step.removes)

    @property
    def open_terms(self) -> list[int]:
        """How many cells each balance leaves open."""
        self._count()
        return self._terms

    @property
    def alone(self) -> int:
        """The balances that leave one cell open, as bits."""
        self._count()
        return self._alone

    @property
    def few(self) -> int:
        """Those that leave two to four."""
        self._count()
        return self._few

    @property
    def many(self) -> int:
        """Those that leave more, but not too many."""
        self._count()
        return self._many

    def _count(self) -> None:
        """Bring up to date what balances leave open, which not all who place digits ask for."""
        frame = self.frame
        if not self._terms:
            self._inside = [len(crossing.inside) for crossing in frame.crossings]
            self._outside = [len(crossing.outside) + len(crossing.counted) for crossing in frame.crossings]
            least = list(map(min, self._inside, self._outside))
            self._terms = [len(area.loose) + sum([least[x] for x in area.crossings]) for area in frame.areas]
            for number, terms in enumerate(self._terms):
                self._sort_area(number, 0, terms)
        if self._uncounted:
            for cell in self._uncounted:
                self._count_out(cell)
            self._uncounted.clear()

    def _count_out(self, cell: int) -> None:
        """Take a placed cell out of the balances it was an open term of."""
        frame = self.frame
        inside, outside, terms, areas = self._inside, self._outside, self._terms, frame.crossed_areas
        for area in frame.loose_in[cell]:
            left = terms[area] = terms[area] - 1
            if left <= MANY:
                self._sort_area(area, left + 1, left)
        for side, other, numbers in ((inside, outside, frame.crossed_inside[cell]),
                                     (outside, inside, frame.crossed_outside[cell])):
            for number in numbers:
                here = side[number] = side[number] - 1
                if here < other[number]:
                    area = areas[number]
                    left = terms[area] = terms[area] - 1
                    if left <= MANY:
                        self._sort_area(area, left + 1, left)

    def _sort_area(self, area: int, before: int, after: int) -> None:
        """Keep `alone`, `few` and `many` right for an area whose open terms changed in number."""
        if after > MANY:
            return
        bit = 1 << area
        if before == FEW + 1:
            self._many &= ~bit
        if before == 2:
            self._few &= ~bit
        if after == 1:
            self._alone |= bit
        elif after == 0:
            self._alone &= ~bit
        elif after <= FEW:
            self._few |= bit
        else:
            self._many |= bit

    def balance(self, number: int) -> Balance:
        """Return what the area's houses and cages say of its open cells, in its shortest form."""
        area = self.frame.areas[number]
        stamp = self.placed & area.touching
        known = self._balances[number]
        if known is not None and known[0] == stamp:
            return known[1]
        self._count()
        placed, candidates, frame = self.placed, self.candidates, self.frame
        total = area.total
        plus, minus, fixed, taken = [], [], [], list(area.whole)
        counted_in = list(area.loose)
        for x in area.crossings:
            crossing = frame.crossings[x]
            if self._inside[x] <= self._outside[x]:
                counted_in += crossing.inside
                continue
            taken.append(crossing.taken)
            counted_in += crossing.counted
            for cell in crossing.outside:
                if placed >> cell & 1:
                    fixed.append(cell)
                    total += candidates[cell].bit_length()
                else:
                    minus.append(cell)
        for cell in counted_in:
            if placed >> cell & 1:
                fixed.append(cell)
                total -= candidates[cell].bit_length()
            else:
                plus.append(cell)
        stated = False
        for one in taken:
            if one < len(frame.cages):
                total -= frame.totals[one] or 0
            else:
                summed, sign = frame.taken(one)
                total -= sign * frame.total(summed)
                stated = True
        found = Balance(number, tuple(plus), tuple(minus), total, tuple(fixed), tuple(taken), stated)
        self._balances[number] = (stamp, found)
        return found

    def open_cage(self, number: int) -> OpenCage | None:
        """Return what is left of a cage; None where it has no total or no open cell."""
        if not self._stale >> number & 1:
            return self._cages[number]
        self._stale ^= 1 << number
        total = self.frame.totals[number]
        if total is None:
            return None
        frame, held = self.frame, self.candidates
        cells = frame.cages[number]
        masks, filled = tuple([held[cell] for cell in cells]), self.placed & frame.cage_sets[number]
        if filled == frame.cage_sets[number]:
            self._cages[number] = None
            return None
        key = number, filled, masks
        found = self._opened.get(key) if self.is_followed else None
        if found is None:
            found = _opened(cells, filled, masks, total)
            if self.is_followed:
                if len(self._opened) >= _REMEMBERED:
                    self._opened.clear()
                self._opened[key] = found
        self._cages[number] = found
        return found

    def doomed(self) -> list[tuple[int, int]]:
        """Return the candidates known to fail by narrowing alone, as (cell, digit's index), the soonest first."""
        known = self.doom.known(self.candidates)
        while not known and self.look_for_doomed():
            known = self.doom.known(self.candidates)
        return known

    def look_for_doomed(self) -> bool:
        """Look for more candidates that fail; whether there was any left to be looked at."""
        if self.doom.is_fresh(self.candidates):
            return False
        self.work.spend(_NARROWING * self.doom.look(self.candidates))
        return True

    @property
    def doom(self) -> Doom:
        """What is remembered of candidates that fail."""
        if self._doom is None:
            self._doom = Doom(self.frame.puzzle)
        return self._doom

    def missing(self, cells: int, mask: int) -> Eliminated:
        """Return which digits of `mask` each of these cells (as bits) lacks, cells that lack none left out."""
        candidates, names = self.candidates, self.frame.cells
        return tuple([(names[cell], lack) for cell in members(cells) if (lack := mask & ~candidates[cell])])

    def link(self, one: int, other: int) -> Cites:
        """Return why two cells differ: a house, else a cage, else a pair. KeyError where nothing says so."""
        links = self.frame.links
        if (one, other) not in links:
            links[one, other] = _link(self.frame, one, other)
        return links[one, other]

    def names(self, cells: int) -> tuple[Cell, ...]:
        """Return the cells of a set of bits."""
        return tuple([self.frame.cells[cell] for cell in members(cells)])
