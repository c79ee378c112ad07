"""Cages, a house and a sum taken together: what each cell can hold, by trying to fill them all.

A filling gives every cell of the cages, the house and the sum a digit; cells
that see each other differ, a cage with a total makes it, a house holds every digit, the sum comes out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from operator import and_, or_

from cagework.solver.fill import narrowed
from cagework.solver.frame import Frame, members
from cagework.solver.state import Balance, State

MOST_TRIES = 60
"""A digit that so many guesses neither seat nor bar counts as possible."""


MOST_FILLINGS = 60
"""The fillings kept of the same facts."""


@dataclass(frozen=True, slots=True)
class Facts:
    """Numbers of cages and of whole houses, and at most one balance."""

    cages: tuple[int, ...]
    houses: tuple[int, ...] = ()
    balance: Balance | None = None

    @property
    def terms(self) -> tuple[int, ...]:
        """The open cells of the balance."""
        return self.balance.plus + self.balance.minus if self.balance else ()

    def cells(self, frame: Frame) -> int:
        """All cells concerned, as bits."""
        bits = 0
        for number in self.cages:
            bits |= frame.cage_sets[number]
        for number in self.houses:
            bits |= frame.house_sets[number]
        for cell in self.terms:
            bits |= 1 << cell
        return bits


class Together:
    """The cells of some facts, ready to be filled; `sees` tells, for each cell, whom it differs from.

    `fillings` are those met so far, packed; each still shows what is possible for as long as its digits are.
    `against` are those that showed that something is not barred. `narrowed` are the domains last closed, before
    and after.
    """

    def __init__(self, frame: Frame, facts: Facts, sees: Sequence[int]) -> None:
        self.size = frame.size
        inside = facts.cells(frame)
        self.cells = tuple(members(inside))
        self.at = {cell: place for place, cell in enumerate(self.cells)}
        self.mates = [[self.at[other] for other in members(sees[cell] & inside)] for cell in self.cells]
        self.cages = [(self._places(frame.cages[n]), frame.totals[n] or 0) for n in facts.cages]
        self.houses = [self._places(frame.houses[n]) for n in facts.houses]
        balance = facts.balance
        self.plus = self._places(balance.plus) if balance else ()
        self.minus = self._places(balance.minus) if balance else ()
        self.total = balance.total if balance else 0
        first = set(self.plus + self.minus)
        caged = {place for places, _ in self.cages for place in places} - first
        self.ranks = sorted(first), sorted(caged), sorted(set(self.at.values()) - first - caged)
        groups = [places for places, _ in self.cages] + self.houses
        self.sum_bit = 1 << len(groups) if first else 0
        self.groups_at = [self.sum_bit if place in first else 0 for place in range(len(self.cells))]
        for number, group in enumerate(groups):
            for place in group:
                self.groups_at[place] |= 1 << number
        self.tries = 0
        self.fillings: list[int] = []
        self.against: list[int] = []
        self.narrowed: tuple[list[int], list[int]] = [], []

    def _places(self, cells: Iterable[int]) -> tuple[int, ...]:
        return tuple([self.at[cell] for cell in cells])

    def strikes(self, masks: Sequence[int]) -> dict[int, int]:
        """Return what cells cannot hold out of their candidates (cell -> mask); empty where all goes wrong."""
        domains = [masks[cell] for cell in self.cells]
        packed = self._packed(domains)
        met = 0
        for earlier in self.fillings:
            if not earlier & ~packed:
                met |= earlier
        if met == packed:
            return {}
        base = self._closed(domains)
        if base is None:
            return {}
        known = [mask & (met >> self.size * place | (0 if mask & mask - 1 else mask))
                 for place, mask in enumerate(base)]
        found: dict[int, int] = {}
        for place in sorted(range(len(base)), key=lambda p: base[p].bit_count()):
            rest = base[place] & ~known[place]
            while rest:
                bit = rest & -rest
                filled = self._filled(base, place, bit, known)
                if filled:
                    known = list(map(or_, known, filled))
                    self.fillings.append(self._packed(filled))
                elif filled is None:
                    known[place] |= bit
                else:
                    base[place] &= ~bit
                rest = (rest ^ bit) & ~known[place]
            gone = domains[place] & ~base[place]
            if gone and domains[place] & domains[place] - 1:
                found[self.cells[place]] = gone
        del self.fillings[:-MOST_FILLINGS]
        return found

    def bars(self, masks: Sequence[int], cell: int, mask: int) -> bool:
        """Whether no filling gives the cell a digit of the mask, though some filling may exist."""
        place = self.at.get(cell)
        if place is None:
            return False
        domains = [masks[cell] for cell in self.cells]
        if not domains[place] & mask:
            return True
        packed = self._packed(domains) & ~((domains[place] & ~mask) << self.size * place)
        if any(not earlier & ~packed for earlier in self.against):
            return False
        base = self._closed(domains)
        if base is None or not base[place] & mask:
            return True
        base[place] &= mask
        self.tries = 0
        if not self._close(base, [place]):
            return True
        filled = self._fill(base, base)
        if filled:
            self.against = [*self.against[1 - MOST_FILLINGS:], self._packed(filled)]
        return filled == []

    def _packed(self, domains: Iterable[int]) -> int:
        """Domains as one number, the first place's digits as its lowest bits."""
        packed = shift = 0
        for mask in domains:
            packed |= mask << shift
            shift += self.size
        return packed

    def _closed(self, domains: list[int]) -> list[int] | None:
        """Domains narrowed as far as single facts go; None where one has no filling.

        Where none is wider than it was the last time, what was narrowed then is gone on with.
        """
        before, last = self.narrowed
        empty = 0 in domains
        if before and not empty and list(map(or_, domains, before)) == before:
            base = list(map(and_, domains, last))
            changed = [place for place, mask in enumerate(last) if base[place] != mask]
            if 0 in base:
                return None
        else:
            base, changed = domains[:], list(range(len(domains)))
        if not self._close(base, changed):
            return None
        if not empty:
            self.narrowed = domains, base[:]
        return base

    def _filled(self, base: list[int], place: int, bit: int, known: list[int]) -> list[int] | None:
        """A filling with this digit in this place; empty where there is none, None where it was not settled."""
        domains = base[:]
        domains[place] = bit
        self.tries = 0
        return self._fill(domains, known) if self._close(domains, [place]) else []

    def _fill(self, domains: list[int], known: list[int]) -> list[int] | None:
        """As `_filled`, from domains that are closed; digits not `known` to be possible are tried first."""
        place = self._choose(domains)
        if place is None:
            return domains
        self.tries += 1
        if self.tries > MOST_TRIES:
            return None
        for options in (domains[place] & ~known[place], domains[place] & known[place]):
            while options:
                bit = options & -options
                options ^= bit
                trial = domains[:]
                trial[place] = bit
                if self._close(trial, [place]):
                    filled = self._fill(trial, known)
                    if filled != []:
                        return filled
        return []

    def _choose(self, domains: Sequence[int]) -> int | None:
        """The open cell with the fewest digits: of the sum, else of a cage, else any; None where none is open."""
        for places in self.ranks:
            best, fewest = None, 99
            for place in places:
                mask = domains[place]
                if mask & mask - 1:
                    count = mask.bit_count()
                    if count == 2:
                        return place
                    if count < fewest:
                        best, fewest = place, count
            if best is not None:
                return best
        return None

    def _close(self, domains: list[int], changed: list[int]) -> bool:
        """Narrow domains as far as single facts go, from the changed ones; False where one has no filling."""
        groups_at, mates, cages = self.groups_at, self.mates, self.cages
        waiting = self.sum_bit
        for place in changed:
            waiting |= groups_at[place]
        singles = [place for place in changed if not domains[place] & domains[place] - 1]
        while True:
            while singles:
                place = singles.pop()
                mask = domains[place]
                for mate in mates[place]:
                    before = domains[mate]
                    if before & mask:
                        left = before ^ mask
                        if not left:
                            return False
                        domains[mate] = left
                        waiting |= groups_at[mate]
                        if not left & left - 1:
                            singles.append(mate)
            if not waiting:
                return True
            low = waiting & -waiting
            waiting ^= low
            number = low.bit_length() - 1
            if number < len(cages):
                places, total = cages[number]
                masks = tuple([domains[place] for place in places])
                kept, again = narrowed(masks, total)
                if kept == masks:
                    continue
                if not kept:
                    return False
                for place, before, mask in zip(places, masks, kept, strict=True):
                    if mask != before:
                        domains[place] = mask
                        waiting |= groups_at[place]
                        if not mask & mask - 1:
                            singles.append(place)
                if not again:
                    waiting &= ~low
            else:
                more = (self._close_sum(domains, singles) if low == self.sum_bit
                        else self._close_house(domains, singles, self.houses[number - len(cages)]))
                if more < 0:
                    return False
                waiting |= more

    def _close_house(self, domains: list[int], singles: list[int], places: tuple[int, ...]) -> int:
        """A digit with one place left goes there. The groups to look at again, as bits; -1 where nothing fits."""
        once = twice = held = 0
        for place in places:
            mask = domains[place]
            twice |= once & mask
            once |= mask
            if not mask & mask - 1:
                held |= mask
        if once.bit_count() < self.size:
            return -1
        more = 0
        alone = once & ~twice & ~held
        if alone:
            for place in places:
                mask = domains[place] & alone
                if mask:
                    if mask & mask - 1:
                        return -1
                    domains[place] = mask
                    singles.append(place)
                    more |= self.groups_at[place]
        return more

    def _close_sum(self, domains: list[int], singles: list[int]) -> int:
        """As `_close_house`: each term, with the others at their least and at their greatest."""
        least = most = 0
        for place in self.plus:
            mask = domains[place]
            least += (mask & -mask).bit_length()
            most += mask.bit_length()
        for place in self.minus:
            mask = domains[place]
            least -= mask.bit_length()
            most -= (mask & -mask).bit_length()
        if not least <= self.total <= most:
            return -1
        more = 0
        for places, sign in ((self.plus, 1), (self.minus, -1)):
            for place in places:
                mask = domains[place]
                if not mask & mask - 1:
                    continue
                low, high = (mask & -mask).bit_length(), mask.bit_length()
                if sign > 0:
                    low, high = self.total - (most - high), self.total - (least - low)
                else:
                    low, high = least + high - self.total, most + low - self.total
                kept = mask & (1 << max(high, 0)) - 1 & ~((1 << max(low - 1, 0)) - 1)
                if kept != mask:
                    if not kept:
                        return -1
                    domains[place] = kept
                    more |= self.groups_at[place]
                    if not kept & kept - 1:
                        singles.append(place)
        return more


@lru_cache(maxsize=1 << 11)
def _engine(frame: Frame, facts: Facts) -> Together:
    """The facts on the whole grid, where everything seen counts, with the fillings met before."""
    return Together(frame, facts, frame.sees)


def leanest(frame: Frame, facts: Facts, masks: Sequence[int], cell: int, mask: int) -> Facts:
    """Return the facts without the houses and cages that barring these digits can do without."""
    def still(trial: Facts) -> bool:
        return _engine(frame, trial).bars(masks, cell, mask)

    for house in facts.houses:
        trial = replace(facts, houses=tuple([n for n in facts.houses if n != house]))
        if still(trial):
            facts = trial
    for cage in sorted(facts.cages, key=lambda n: (frame.cage_sets[n] >> cell & 1, -len(frame.cages[n]))):
        trial = replace(facts, cages=tuple([n for n in facts.cages if n != cage]))
        if still(trial):
            facts = trial
    return facts


def together(state: State, facts: Facts) -> Iterator[tuple[Facts, list[tuple[int, int]]]]:
    """Yield what the facts strike, put together by the facts that are enough for it, fewest first."""
    frame, masks = state.frame, state.candidates
    grouped: dict[Facts, list[tuple[int, int]]] = {}
    for cell, gone in _engine(frame, facts).strikes(masks).items():
        for index in members(gone):
            lean = leanest(frame, facts, masks, cell, 1 << index)
            grouped.setdefault(lean, []).append((cell, 1 << index))
    for lean, struck in sorted(grouped.items(), key=lambda item: len(item[0].cages)):
        merged: dict[int, int] = {}
        for cell, bit in struck:
            merged[cell] = merged.get(cell, 0) | bit
        yield lean, list(merged.items())
