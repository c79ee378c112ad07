"""What any reader sees at a glance: a cell's last digit, a digit's last place in a house, a cage's last cell."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.bitset import members
from cagework.solver.reasoning.frame import Frame

SEEN = frozenset({"hidden_single", "last_in_cage", "naked_single"})
"""The techniques that say so."""


class Grid:
    """What is known, narrowed by all that is seen. A cell is its number, digits are a mask.

    `places[i]` are the cells that can hold digit i + 1, `placed` the filled ones, both as bits. `seen` are
    fillings not made yet, `changed` cells that lost digits, `events` what happened (~cell where it was filled at
    a glance), `strikes` how many digits went.
    """

    __slots__ = ("_frame", "_houses", "changed", "events", "masks", "placed", "places", "seen", "strikes")

    def __init__(self, frame: Frame) -> None:
        """The printed puzzle, before anything is seen in it."""
        self._frame = frame
        self._houses = [[frame.house_sets[house] for house in houses if frame.whole[house]]
                        for houses in frame.houses_of]
        self.masks = frame.printed[:]
        self.places = frame.printed_places[:]
        self.placed = 0
        self.seen: list[tuple[int, int]] = []
        self.changed: list[int] = []
        self.events: list[int] = []
        self.strikes = 0
        for given in frame.puzzle.givens:
            self.place(frame.index[given.cell], 1 << given.digit - 1)

    def copy(self) -> Grid:
        """Return a grid that changes apart from this one; what happened in it starts anew."""
        other = object.__new__(Grid)
        other._frame, other._houses = self._frame, self._houses
        other.masks, other.places, other.placed = self.masks[:], self.places[:], self.placed
        other.seen, other.changed, other.events, other.strikes = self.seen[:], [], [], 0
        return other

    def strike(self, cell: int, mask: int) -> None:
        """Take digits from a cell, and note what is seen by that."""
        gone = self.masks[cell] & mask
        if not gone:
            return
        left = self.masks[cell] = self.masks[cell] ^ gone
        if not left & left - 1:
            self.seen.append((cell, left))
        self.changed.append(cell)
        places, keep, houses, open_ = self.places, ~(1 << cell), self._houses[cell], ~self.placed
        while gone:
            bit = gone & -gone
            gone ^= bit
            self.strikes += 1
            index = bit.bit_length() - 1
            left = places[index] = places[index] & keep
            for inside in houses:
                last = left & inside
                if not last & last - 1 and last & open_:
                    self.seen.append((last.bit_length() - 1, bit))

    def place(self, cell: int, bit: int) -> None:
        """Fill a cell."""
        frame = self._frame
        self.placed |= 1 << cell
        self.strike(cell, frame.full ^ bit)
        for peer in members(self.places[bit.bit_length() - 1] & frame.sees[cell]):
            self.strike(peer, bit)
        for cage in frame.cages_of[cell]:
            empty = frame.cage_sets[cage] & ~self.placed
            total = frame.totals[cage]
            if empty and not empty & empty - 1 and total is not None:
                left = total - sum([self.masks[one].bit_length() for one in frame.cages[cage]
                                    if self.placed >> one & 1])
                self.seen.append((empty.bit_length() - 1, 1 << left - 1 if left > 0 else 0))

    def settle(self) -> None:
        """Fill all cells whose digit is seen."""
        seen = self.seen
        while seen:
            cell, bit = seen.pop()
            if not self.placed >> cell & 1 and self.masks[cell] & bit:
                self.events.append(~cell)
                self.place(cell, bit)

    def changes_by(self, takes: Sequence[tuple[int, int]], places: Sequence[tuple[int, int]]) -> bool:
        """Whether any of these digits is still there, or any of these cells is still to be filled."""
        return any(self.masks[cell] & mask for cell, mask in takes) or any(
            not self.placed >> cell & 1 for cell, _ in places)
