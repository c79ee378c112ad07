"""Tables -> one tuple of each that go together, or none: a search that looks ahead.

The search is *forward checking* (Haralick and Elliott, 1980): choose a tuple of the table with the fewest left,
leave the other tables what goes with it, and go back as soon as one has nothing left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from sys import maxsize

from cagework.solver.reasoning.table_constraints import Compatibility, Table, Tables

MOST_TRIES = 60
"""A search that has to choose more often than this is given up."""

_Links = tuple[tuple[tuple[int, Compatibility], ...], ...]
"""For each table the numbers of others, and which of their tuples go with which of its own."""


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Tables and how they are linked."""

    tables: tuple[Table, ...]
    links: _Links


def network_of(tables: tuple[Table, ...], known: Tables, sees: Sequence[int]) -> Network:
    """Link tables; `sees` tells for each cell whom it differs from."""
    return Network(tables, tuple([
        tuple([
            (number, link) for number, other in enumerate(tables)
            if other is not one and (link := known.compatibility(one, other, sees)) is not None
        ])
        for one in tables
    ]))


@dataclass(frozen=True, slots=True, eq=False)
class Position:
    """Tables at a moment: the tuples of each that are still `live`, and the numbers of those `open` to choice.

    `links` lead to open tables only: what the others say has been made to count. A position is `relaxed` where it
    leaves out a constraint that has no table, so that more seems possible than is.
    """

    tables: tuple[Table, ...]
    links: _Links
    live: tuple[int, ...]
    open: tuple[int, ...]
    relaxed: bool

    def requiring(self, digit: int) -> Position | None:
        """Return the position with this digit (one bit, packed) in its cell; None where a table has none."""
        live = tuple([
            tuples & table.tuples_with(digit) if table.within & digit else tuples
            for tuples, table in zip(self.live, self.tables, strict=True)
        ])
        return Position(self.tables, self.links, live, self.open, self.relaxed) if all(live) else None

    def without(self, digit: int) -> Position:
        """Return the position in which no tuple has this digit (one bit, packed)."""
        live = tuple([
            tuples & ~table.tuples_with(digit) for tuples, table in zip(self.live, self.tables, strict=True)
        ])
        return Position(self.tables, self.links, live, self.open, self.relaxed)


def settled_position(network: Network, live: list[int], *, relaxed: bool) -> Position | None:
    """Make each table with one live tuple count for the others, over and over; None where one is left without any.

    `live` changes on the way.
    """
    links, open_ = network.links, list(range(len(live)))
    while single := [number for number in open_ if not live[number] & live[number] - 1]:
        for number in single:
            if not _checked(links[number], live, number):
                return None
            open_.remove(number)
    if len(open_) < len(live):
        links = tuple([tuple([link for link in others if link[0] in open_]) for others in links])
    return Position(network.tables, links, tuple(live), tuple(open_), relaxed)


@dataclass(frozen=True, slots=True)
class Search:
    """How a search ended: with a filling (packed), or without one, which is `proved` unless the tries ran out."""

    filling: int | None
    proved: bool
    tries: int


NOTHING_TO_SEARCH = Search(None, True, 0)
"""What comes of a position that does not exist."""


def search(position: Position, first: int | None = None) -> Search:
    """Look for one tuple of each table that go together, those with any digit of `first` (packed) first."""
    live, preferred = list(position.live), position.live
    if first is not None:
        preferred = tuple([table.tuples_with(first) for table in position.tables])
    chosen, tries = _completed(position.links, preferred, live, position.open, 0)
    if not chosen:
        return Search(None, chosen is not None, tries)
    filling = 0
    for tuple_, table in zip(chosen, position.tables, strict=True):
        filling |= table.tuples[tuple_.bit_length() - 1]
    return Search(filling, True, tries)


def _completed(
    links: _Links, preferred: Sequence[int], live: list[int], open_: Sequence[int], tries: int
) -> tuple[list[int] | None, int]:
    """One live tuple of each table, and the tries made by then: no tuples where that cannot be, None for them
    where it was not settled. `live` changes on the way.
    """
    undecided = list(open_)
    while undecided:
        at = _narrowest(live, undecided)
        undecided.remove(at)
        if live[at] & live[at] - 1:
            return _branched(links, preferred, live, undecided, at, tries + 1)
        if not _checked(links[at], live, at):
            return [], tries
    return live, tries


def _branched(
    links: _Links, preferred: Sequence[int], live: list[int], open_: Sequence[int], at: int, tries: int
) -> tuple[list[int] | None, int]:
    """As `_completed`, with each tuple of table `at` in turn; `open_` are the other open tables."""
    if tries > MOST_TRIES:
        return None, tries
    for tuples in (live[at] & preferred[at], live[at] & ~preferred[at]):
        while tuples:
            trial = live[:]
            trial[at] = tuples & -tuples
            tuples ^= trial[at]
            if _checked(links[at], trial, at):
                chosen, tries = _completed(links, preferred, trial, open_, tries)
                if chosen != []:
                    return chosen, tries
    return [], tries


def _narrowest(live: Sequence[int], open_: Sequence[int]) -> int:
    """The number of the open table with the fewest live tuples, the first of several."""
    narrowest, fewest = open_[0], maxsize
    for number in open_:
        count = live[number].bit_count()
        if count < fewest:
            if count == 1:
                return number
            narrowest, fewest = number, count
    return narrowest


def _checked(links: Sequence[tuple[int, Compatibility]], live: list[int], at: int) -> bool:
    """Leave the linked tables, in `live`, what goes with the one tuple of table `at`; whether each has any."""
    chosen = live[at].bit_length() - 1
    for number, compatible in links:
        rest = live[number] & compatible[chosen]
        if not rest:
            return False
        live[number] = rest
    return True
