"""Which candidates fail by narrowing alone, and so are worth an argument; that is found without it."""

from __future__ import annotations

from collections.abc import Hashable
from operator import and_

from cagework.solver.bitset import members
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.narrowing import narrowing
from cagework.solver.step import Step

_LESS = 0.85
"""A candidate that was given up is worth another look once no more than this part of the grid's are left."""


_SOON = 2.0
"""A candidate fails soon where no more digits a cell than this go before it does: of those that fail later one in
twenty has an argument that a reader can follow, of the others one in three (measured).
"""


_ENOUGH = 8
"""Candidates that fail soon, after which no more are looked for until they are used up."""


class Doom:
    """Tells which suppositions fail by narrowing alone, and so are worth an argument; that is found without it.

    The grid only ever loses candidates. So what failed goes on failing: `failed` is how much was narrowed before
    it did. What stood is narrowed further from where it stood: `stood` are those grids. `given_up` is how many
    candidates the grid had when no argument was found. All are kept by cell and digit's index. `arguments` are
    those that were found and not taken: they stay good. Narrowing goes by what the puzzle states, without the
    45 rule, which costs twice as much and finds more that no short argument shows.
    """

    def __init__(self, puzzle: Puzzle) -> None:
        self.narrowing = narrowing(puzzle)
        self.failed: dict[tuple[int, int], int] = {}
        self.stood: dict[tuple[int, int], list[int]] = {}
        self.given_up: dict[Hashable, int] = {}
        self.arguments: list[Step] = []
        self._known: list[tuple[int, int]] = []
        self._rest: list[tuple[int, int]] = []
        self._begun = 0

    def known(self, now: list[int]) -> list[tuple[int, int]]:
        """The candidates of a grid that are known to fail, as (cell, digit's index), the soonest first."""
        self._known = [one for one in self._known if now[one[0]] >> one[1] & 1]
        return self._known

    def is_fresh(self, now: list[int]) -> bool:
        """Whether all candidates have been looked at since the grid is as it is."""
        return not self._rest and self._begun == _left(now)

    def look(self, now: list[int]) -> int:
        """Look at candidates, all in turn, until some that fail soon are found. Return how many it were."""
        if not self._rest:
            self._rest = [(cell, index) for cell in _fewest_first(now) for index in members(now[cell])][::-1]
            self._begun = _left(now)
        looked = soon = 0
        while self._rest and soon < _ENOUGH:
            one = self._rest.pop()
            if now[one[0]] >> one[1] & 1 and one not in self.failed:
                looked += 1
                if not self._stands(now, one):
                    self._known.append(one)
                    soon += self.is_soon(one)
        self._known.sort(key=self._order)
        return looked

    def is_soon(self, one: tuple[int, int]) -> bool:
        """Whether a candidate fails so soon that an argument is likely to be found."""
        return self.failed[one] <= _SOON * len(self.narrowing.peers)

    def is_worth_it(self, one: Hashable, now: list[int]) -> bool:
        """Whether a candidate, or a fork, was never given up, or when far more was open."""
        before = self.given_up.get(one)
        return before is None or _left(now) <= _LESS * before

    def give_up(self, one: Hashable, now: list[int]) -> None:
        """Note that no argument was found against a candidate, or from a fork."""
        self.given_up[one] = _left(now)

    def _order(self, one: tuple[int, int]) -> tuple[int, tuple[int, int]]:
        return self.failed[one], one

    def _stands(self, now: list[int], one: tuple[int, int]) -> bool:
        """Whether narrowing leaves the grid standing with this candidate in its cell."""
        before = self.stood.get(one)
        if before is not None:
            trial = list(map(and_, before, now))
            if trial == before:
                return True
            changed = [cell for cell, mask in enumerate(before) if trial[cell] != mask]
            if 0 not in trial and not self.narrowing.fails(trial, changed):
                self.stood[one] = trial
                return True
        return not self._fails(now, one)

    def _fails(self, now: list[int], one: tuple[int, int]) -> bool:
        """Whether narrowing the grid as it is does away with this candidate; how soon is kept."""
        trial = now[:]
        trial[one[0]] = 1 << one[1]
        if not self.narrowing.fails(trial, one[:1]):
            self.stood[one] = trial
            return False
        self.failed[one] = sum(map(int.bit_count, now)) - sum(map(int.bit_count, trial))
        return True


def _left(now: list[int]) -> int:
    """How many candidates a grid has."""
    return sum(map(int.bit_count, now))


def _fewest_first(now: list[int]) -> list[int]:
    """The open cells, those with fewest candidates first."""
    open_ = [cell for cell, mask in enumerate(now) if mask & mask - 1]
    return sorted(open_, key=lambda cell: now[cell].bit_count())
