"""Which candidates fail by narrowing alone, and so are worth an argument; that is found without it."""

from __future__ import annotations

import math

from cagework.solver.bitset import members
from cagework.solver.model import Puzzle
from cagework.solver.search.kernel import lower
from cagework.solver.search.propagate import propagate
from cagework.solver.step import Step

_LESS = 0.85
"""A candidate that was given up is worth another look once no more than this part of the grid's are left."""


class Doom:
    """Tells which suppositions fail by narrowing alone, and so are worth an argument; that is found without it.

    The grid only ever loses candidates. So what failed goes on failing: `failed` is how much was narrowed before
    it did. What stood is narrowed further from where it stood: `stood` are those grids. `given_up` is how many
    candidates the grid had when no argument was found. All are kept by cell and digit's index. `arguments` are
    those that were found and not taken: they stay good.
    """

    def __init__(self, puzzle: Puzzle) -> None:
        self.kernel = lower(puzzle)
        self.shape = self.kernel.ground.fields
        self.failed: dict[tuple[int, int], int] = {}
        self.stood: dict[tuple[int, int], int] = {}
        self.given_up: dict[tuple[int, int], int] = {}
        self.arguments: list[Step] = []
        self._last: tuple[int, list[tuple[int, int]]] = (0, [])

    def doomed(self, now: list[int]) -> list[tuple[int, int]]:
        """All candidates of a grid that fail, as (cell, digit's index), the soonest first."""
        left = sum(map(int.bit_count, now))
        if left != self._last[0]:
            open_ = [(cell, index) for cell in _fewest_first(now) for index in members(now[cell])]
            grid = self.shape.pack(now)
            found = [one for one in open_ if one in self.failed or not self._stands(grid, one)]
            self._last = left, sorted(found, key=self._order)
        return self._last[1]

    def is_worth_it(self, one: tuple[int, int]) -> bool:
        """Whether a candidate was never given up, or when far more was open."""
        return self._last[0] <= _LESS * self.given_up.get(one, math.inf)

    def give_up(self, one: tuple[int, int]) -> None:
        """Note that no argument was found against a candidate."""
        self.given_up[one] = self._last[0]

    def _order(self, one: tuple[int, int]) -> tuple[int, tuple[int, int]]:
        return self.failed[one], one

    def _stands(self, now: int, one: tuple[int, int]) -> bool:
        """Whether narrowing leaves the grid standing with this candidate in its cell."""
        before = self.stood.get(one)
        if before is not None:
            trial = propagate(self.kernel, before & now, before)
            if trial >= 0:
                self.stood[one] = trial
                return True
        return not self._fails(now, one)

    def _fails(self, now: int, one: tuple[int, int]) -> bool:
        """Whether narrowing the grid as it is does away with this candidate; how soon is kept."""
        rounds = [now]
        trial = propagate(self.kernel, self.shape.placed(now, *one), now, rounds.append)
        if trial >= 0:
            self.stood[one] = trial
            return False
        self.failed[one] = now.bit_count() - rounds[-1].bit_count()
        return True


def _fewest_first(now: list[int]) -> list[int]:
    """The open cells, those with fewest candidates first."""
    open_ = [cell for cell, mask in enumerate(now) if mask & mask - 1]
    return sorted(open_, key=lambda cell: now[cell].bit_count())
