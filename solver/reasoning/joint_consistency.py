"""Cages, a house and a sum taken together: what each cell can hold, by trying to fill them all.

A filling gives every cell of the cages, the house and the sum a digit; cells
that see each other differ, a cage with a total makes it, a house holds every digit, the sum comes out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.table_constraints import (
    MOST_WAYS,
    Compatibility,
    SumConstraint,
    Table,
    Tables,
    tables_of,
)

MOST_TRIES = 60
"""A digit that so many guesses neither seat nor bar counts as possible."""

_MOST_FILLINGS = 300
"""Fillings remembered of one house, or of other facts."""

_MOST_BARRED = 30
"""Candidates without a filling remembered of the same facts."""

_FEW_PLACES = 3
"""A digit with so few places in a house is a list too: its places."""


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

    The cages and the sum are lists of ways; a cell in none is a list of its digits. What has too many ways to be
    listed is left out of account (`relaxed`), so that more seems possible than is. Fillings met before are kept,
    packed: each still shows what is possible for as long as its digits are. `barred` are candidates that had none,
    `against` the fillings that showed that others had one.
    """

    def __init__(self, lists: Tables, facts: Facts, sees: Sequence[int]) -> None:
        self.lists = lists
        self.size = lists.size
        self.sees = sees
        self.inside = facts.cells(lists.frame)
        self.shifts = [(cell, lists.size * cell) for cell in members(self.inside)]
        self.mask = sum([lists.frame.full << shift for _, shift in self.shifts])
        self.cages = set_of(facts.cages)
        self.groups = [lists.cage(number) for number in facts.cages]
        self.sum: SumConstraint | None = None
        if facts.balance and facts.terms:
            balance = facts.balance
            self.sum = lists.sum(balance.plus, balance.minus, balance.total, sees)
            self.groups.append(self.sum)
        self.fillings = lists.fillings.setdefault(facts.houses or facts, {})
        self.places = [listing for house in facts.houses for listing in lists.places(house)]
        self.barred: list[int] = []
        self.against: list[int] = []
        self.listings: list[Table] = []
        self.links: list[list[tuple[int, Compatibility]]] = []
        self.near = self.links
        self.left: list[int] = []
        self.relaxed = False
        self.tries = 0

    def strikes(self, masks: Sequence[int]) -> dict[int, int]:
        """Return what cells cannot hold out of their candidates (cell -> mask); empty where all goes wrong."""
        candidates = self._packed(masks)
        unmet = candidates & ~self._met(candidates)
        live = self._live(candidates) if unmet else []
        gone = 0
        while unmet and live:
            bit = unmet & -unmet
            filling = self._filling(live, bit, unmet)
            unmet &= ~(filling or bit)
            if filling and not self.relaxed:
                self.fillings[filling] = self.cages
            elif filling == 0:
                gone |= bit
                live = [ways & ~listing.any_of(bit) for ways, listing in zip(live, self.listings, strict=True)]
        while len(self.fillings) > _MOST_FILLINGS:
            del self.fillings[next(iter(self.fillings))]
        return {cell: here for cell, shift in self.shifts
                if (here := gone >> shift & masks[cell]) and masks[cell] & masks[cell] - 1}

    def bars(self, masks: Sequence[int], cell: int, mask: int) -> bool:
        """Whether no filling gives the cell a digit of the mask, though some filling may exist."""
        if not self.inside >> cell & 1:
            return False
        candidates = self._packed(masks) & ~((masks[cell] & ~mask) << self.size * cell)
        if any(not earlier & ~candidates for earlier in self.against):
            return False
        if any(not candidates & ~earlier for earlier in self.barred):
            return True
        live = self._live(candidates)
        if not live:
            return True
        filling = self._first(live, live)
        if filling:
            self.against = [*self.against[1 - _MOST_FILLINGS:], filling]
        elif filling == 0:
            self.barred = [*self.barred[1 - _MOST_BARRED:], candidates]
        return filling == 0

    def _packed(self, masks: Sequence[int]) -> int:
        """The candidates of the cells concerned, packed."""
        packed = 0
        for cell, shift in self.shifts:
            packed |= masks[cell] << shift
        return packed

    def _met(self, candidates: int) -> int:
        """What earlier fillings show to be possible: those of at least these cages for which the sum comes out."""
        met, mask, sum_ = 0, self.mask, self.sum
        for filling, cages in self.fillings.items():
            here = filling & mask
            if not here & ~candidates and not self.cages & ~cages and (sum_ is None or sum_.comes_out(here)):
                met |= here
        return met

    def _live(self, candidates: int) -> list[int]:
        """The ways that each list has left, once the lists are laid out and all that has but one way counts; empty
        where one has none.
        """
        listings = []
        alone = self.inside
        for group in self.groups:
            listing = group.listing(candidates & group.mask)
            if listing is not None:
                listings.append(listing)
                alone &= ~listing.inside
        self.relaxed = len(listings) < len(self.groups)
        for cell in members(alone):
            group = self.lists.cell(cell)
            listing = group.listing(group.mask)
            assert listing is not None
            listings.append(listing)
        listings += [places for places in self.places
                     if places.live(candidates & places.mask).bit_count() <= _FEW_PLACES]
        if listings != self.listings:
            self.listings = listings
            self.links = [
                [(number, link) for number, other in enumerate(listings)
                 if other is not one and (link := self.lists.link(one, other, self.sees)) is not None]
                for one in listings
            ]
        live = [listing.live(candidates & listing.mask) for listing in listings]
        return live if all(live) and self._settled(live) else []

    def _settled(self, live: list[int]) -> bool:
        """Make what has but one way count, and leave only the others open to choice; whether all have any."""
        self.left, self.near = list(range(len(live))), self.links
        while single := [number for number in self.left if not live[number] & live[number] - 1]:
            for number in single:
                if not self._suits(live, number):
                    return False
                self.left.remove(number)
        if len(self.left) < len(live):
            self.near = [[link for link in links if link[0] in self.left] for links in self.links]
        return True

    def _filling(self, live: Sequence[int], bit: int, unmet: int) -> int | None:
        """A filling with this digit in its cell; 0 where there is none, None where it was not settled.

        Ways with a digit that is `unmet` are tried first.
        """
        within, fresh = [], []
        for ways, listing in zip(live, self.listings, strict=True):
            within.append(ways & listing.any_of(bit) if listing.within & bit else ways)
            fresh.append(listing.any_of(unmet))
        return self._first(within, fresh) if all(within) else 0

    def _first(self, live: list[int], fresh: Sequence[int]) -> int | None:
        """As `_filling`, of the ways that are live, the fresh ones first."""
        self.tries = 0
        chosen = self._chosen(live[:], self.left, fresh) if self.left else live
        if not chosen:
            return None if chosen is None else 0
        filling = 0
        for ways, listing in zip(chosen, self.listings, strict=True):
            filling |= listing.ways[ways.bit_length() - 1]
        return filling

    def _chosen(self, live: list[int], left: list[int], fresh: Sequence[int]) -> list[int] | None:
        """One way of each list; empty where that cannot be, None where it was not settled.

        `left` are the numbers of the lists in which the choice is still to be made.
        """
        while True:
            fewest, at = MOST_WAYS + 1, 0
            for number in left:
                count = live[number].bit_count()
                if count < fewest:
                    fewest, at = count, number
                    if count == 1:
                        break
            left = left[:]
            left.remove(at)
            if fewest > 1:
                break
            if not self._suits(live, at):
                return []
            if not left:
                return live
        self.tries += 1
        if self.tries > MOST_TRIES:
            return None
        for ways in (live[at] & fresh[at], live[at] & ~fresh[at]):
            while ways:
                way = ways & -ways
                ways ^= way
                trial = live[:]
                trial[at] = way
                if self._suits(trial, at):
                    chosen = self._chosen(trial, left, fresh) if left else trial
                    if chosen != []:
                        return chosen
        return []

    def _suits(self, live: list[int], at: int) -> bool:
        """Leave the other lists what suits the one way left in this list; whether each has any."""
        index = live[at].bit_length() - 1
        for number, link in self.near[at]:
            rest = live[number] & link[index]
            if not rest:
                return False
            live[number] = rest
        return True


@lru_cache(maxsize=1 << 11)
def taken_together(frame: Frame, facts: Facts, sees: tuple[int, ...] | None = None) -> Together:
    """Return the facts, ready to be filled; everything seen counts unless told what does."""
    return Together(tables_of(frame), facts, frame.sees if sees is None else sees)


def leanest(frame: Frame, facts: Facts, masks: Sequence[int], cell: int, mask: int) -> Facts:
    """Return the facts without the houses and cages that barring these digits can do without."""
    def still(trial: Facts) -> bool:
        return taken_together(frame, trial).bars(masks, cell, mask)

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
    for cell, gone in taken_together(frame, facts).strikes(masks).items():
        for index in members(gone):
            lean = leanest(frame, facts, masks, cell, 1 << index)
            grouped.setdefault(lean, []).append((cell, 1 << index))
    for lean, struck in sorted(grouped.items(), key=lambda item: len(item[0].cages)):
        merged: dict[int, int] = {}
        for cell, bit in struck:
            merged[cell] = merged.get(cell, 0) | bit
        yield lean, list(merged.items())
