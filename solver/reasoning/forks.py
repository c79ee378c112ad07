"""Where there are but two ways on: a cell of two candidates, a digit of two places, a cage of two ways.

A fork is cheap to find and to weigh; what it cites and says is worked out once an argument is made of it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import reduce
from operator import and_, or_
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import cage_left, made_of, no_other
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.step import Cites, Digits, Why

Grid = Sequence[int]
"""What each cell can hold, as masks."""


@dataclass(frozen=True, slots=True)
class Branch:
    """What is supposed: cells with the bit that each is, or the digits that each is not. `why` is its own."""

    why: Why
    places: tuple[tuple[int, int], ...] = ()
    removes: tuple[tuple[int, int], ...] = ()


class Fork(ABC):
    """Two ways on, of which one is so. `key` is its sentence; `one` and `other` are those of what is supposed."""

    __slots__ = ()
    key: ClassVar[str]
    one: ClassVar[str]
    other: ClassVar[str]

    @abstractmethod
    def grids(self, state: State) -> tuple[Grid, Grid] | None:
        """What narrowing leaves on either way, as far as is known; None where one fails, or nothing is known."""

    @abstractmethod
    def branches(self, state: State) -> tuple[Branch, Branch]:
        """What is supposed on either way."""

    @abstractmethod
    def told(self, state: State) -> tuple[Cites, Why]:
        """Why there is no third way, and what is said of the two."""


@dataclass(frozen=True, slots=True)
class CellFork(Fork):
    """A cell is one of two digits."""

    cell: int
    mask: int
    key: ClassVar = "removes"
    one: ClassVar = "one"
    other: ClassVar = "other"

    def grids(self, state: State) -> tuple[Grid, Grid] | None:
        """As either digit of it leaves them."""
        one, other = members(self.mask)
        return _both(state, (self.cell, one), (self.cell, other))

    def branches(self, state: State) -> tuple[Branch, Branch]:
        """Either digit."""
        one, other = members(self.mask)
        return _placed(state, self.cell, one), _placed(state, self.cell, other)

    def told(self, state: State) -> tuple[Cites, Why]:
        """It lacks all others."""
        cites = Cites(state.missing(1 << self.cell, state.frame.full))
        return cites, {"cell": state.frame.cells[self.cell], "digits": Digits(self.mask)}


@dataclass(frozen=True, slots=True)
class DigitFork(Fork):
    """A digit of a house goes in one of two cells; the same fork whatever the house."""

    index: int
    first: int
    second: int
    house: int = field(compare=False)
    key: ClassVar = "digit"
    one: ClassVar = "there"
    other: ClassVar = "other"

    def grids(self, state: State) -> tuple[Grid, Grid] | None:
        """As either place of it leaves them."""
        return _both(state, (self.first, self.index), (self.second, self.index))

    def branches(self, state: State) -> tuple[Branch, Branch]:
        """Either place."""
        return _placed(state, self.first, self.index), _placed(state, self.second, self.index)

    def told(self, state: State) -> tuple[Cites, Why]:
        """No other cell of the house has it."""
        frame, both = state.frame, 1 << self.first | 1 << self.second
        house = frame.puzzle.houses[self.house]
        cites = Cites(state.missing(frame.house_sets[self.house] & ~both, 1 << self.index), (house,))
        return cites, {"digit": self.index + 1, "house": house, "spots": state.names(both)}


@dataclass(frozen=True, slots=True)
class CageFork(Fork):
    """What is left of a cage is made in one of two ways."""

    cage: int
    ways: tuple[int, ...]
    key: ClassVar = "cage"
    one: ClassVar = "way"
    other: ClassVar = "other_way"

    def grids(self, state: State) -> tuple[Grid, Grid] | None:
        """As the places that a way's digits have in the cage leave them, all its digits taken together."""
        left = state.open_cage(self.cage)
        assert left is not None, "a fork of an open cage"
        found: list[Grid] = []
        for way in self.ways:
            grid: Grid = state.candidates
            for index in members(way):
                held = zip(left.cells, left.kept, strict=True)
                spots = [(cell, index) for cell, mask in held if mask >> index & 1]
                open_ = [spot for spot in spots if spot not in state.doom.failed]
                stood = [state.doom.stood[spot] for spot in open_ if spot in state.doom.stood]
                if not open_ or len(stood) < len(open_):
                    return None
                grid = list(map(and_, grid, _united(stood)))
            found.append(grid)
        return found[0], found[1]

    def branches(self, state: State) -> tuple[Branch, Branch]:
        """Either way: no other digit is left to its cells."""
        frame, left = state.frame, state.open_cage(self.cage)
        assert left is not None, "a fork of an open cage"
        made = made_of(frame, frame.puzzle.cages[self.cage], state.candidates)
        branches = [Branch({"made": made, "way": (Digits(way),)},
                           removes=tuple([(cell, frame.full & ~way) for cell in left.cells])) for way in self.ways]
        return branches[0], branches[1]

    def told(self, state: State) -> tuple[Cites, Why]:
        """What its cells lack, as far as that leaves no third way."""
        frame, left = state.frame, state.open_cage(self.cage)
        assert left is not None, "a fork of an open cage"
        cage = frame.puzzle.cages[self.cage]
        lacks = {cell: frame.full & ~state.candidates[cell] for cell in frame.cages[self.cage]}
        for cell in left.cells:
            for gone in (lacks[cell], *(1 << index for index in members(lacks[cell]))):
                fewer = lacks | {cell: lacks[cell] & ~gone}
                if set(cage_left(frame, cage, fewer)[1]) == set(self.ways):
                    lacks = fewer
        cites = Cites(tuple([(frame.cells[cell], lack) for cell, lack in lacks.items() if lack]), cages=(cage,))
        return cites, cage_why(frame, cites, cage, self.ways)


def cage_why(frame: Frame, cites: Cites, cage: Cage, ways: Sequence[int]) -> Why:
    """Name the two ways of a cage and why there is no third, by what is cited."""
    masks = frame.cited(cites)
    return {"cage": cage, "made": made_of(frame, cage, masks), "ways": tuple(map(Digits, ways)),
            "reason": no_other(frame, cage, masks, ways)}


def likeliest(state: State) -> list[Fork]:
    """The forks of which both ways are known to do away with something, those first where they go least far."""
    now = state.candidates
    found: list[tuple[int, int, Fork]] = []
    for number, fork in enumerate(_forks(state)):
        grids = fork.grids(state) if state.doom.is_worth_it(fork, now) else None
        if grids is not None and any(left & ~(a | b) for left, a, b in zip(now, *grids, strict=True)):
            gone = sum([(left & ~a).bit_count() + (left & ~b).bit_count()
                        for left, a, b in zip(now, *grids, strict=True)])
            found.append((gone, number, fork))
    return [fork for _, _, fork in sorted(found, key=lambda one: one[:2])]


def _forks(state: State) -> Iterator[Fork]:
    """All there are: of cells, of digits, of cages."""
    frame = state.frame
    for cell, mask in enumerate(state.candidates):
        if mask.bit_count() == 2:
            yield CellFork(cell, mask)
    seen: set[DigitFork] = set()
    for house, inside in enumerate(frame.house_sets):
        for index, everywhere in enumerate(state.digit_places if frame.whole[house] else ()):
            both = everywhere & inside
            if both.bit_count() == 2:
                first, second = members(both)
                fork = DigitFork(index, first, second, house)
                if fork not in seen:
                    seen.add(fork)
                    yield fork
    for cage in range(len(frame.cages)):
        left = state.open_cage(cage)
        if left is not None and len(left.combinations) == 2:
            yield CageFork(cage, left.combinations)


def _both(state: State, one: tuple[int, int], other: tuple[int, int]) -> tuple[Grid, Grid] | None:
    """What narrowing is known to leave with either candidate."""
    first, second = state.doom.stood.get(one), state.doom.stood.get(other)
    return None if first is None or second is None else (first, second)


def _united(grids: Sequence[Grid]) -> Grid:
    """What cells hold in any of these."""
    return [reduce(or_, masks) for masks in zip(*grids, strict=True)]


def _placed(state: State, cell: int, index: int) -> Branch:
    return Branch({"cell": state.frame.cells[cell], "digit": index + 1}, places=((cell, 1 << index),))
