"""Puzzle -> verdict: no answer, one answer, or two different ones; uniqueness is proved, never sampled.

Where the search is led astray it starts anew with more room, because most orders are short where one is endless
(Gomes, Selman and Kautz, "Boosting Combinatorial Search Through Randomization", AAAI 1998).

The search branches on a cell and one of its digits. Branching on a cage's combinations was measured and left
out: a fifth more nodes. So was branching on a digit's two places in a house: no fewer nodes, in more time.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain, repeat

from cagework.solver.bitset import members
from cagework.solver.model import Answer, Puzzle
from cagework.solver.recheck import obeys
from cagework.solver.search.kernel import Kernel, stated, with_pairs, with_remainders
from cagework.solver.search.propagate import propagate
from cagework.solver.search.rule_of_45 import most_cells


class Outcome(StrEnum):
    """What is known of a puzzle's answers."""

    SOUND = "sound"
    NO_ANSWER = "no-answer"
    TWO_ANSWERS = "two-answers"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Verdict:
    """An outcome with its evidence: the only answer, or two that differ.

    `nodes` counts the choices the search tried; 0 where deduction alone decided. A budget that ran out
    leaves UNDECIDED, with one answer where one had been found.
    """

    outcome: Outcome
    answer: Answer | None
    second: Answer | None
    nodes: int


class _BudgetSpentError(Exception):
    """The nodes or the seconds are used up."""


class _RoomSpentError(Exception):
    """A run has had its share of choices."""


_BLAME = 0.3
"""What a cell of the fact that failed counts for, beside a fact it is in (measured)."""

_FEW = 4
"""Failures of the first run, which has short remainders only: most puzzles need no more (measured)."""

_SORTED = 8
"""Choices between two sortings of the cells by their weights, which change a little all the time."""

_THOROUGH = 6
"""Choices that are followed by all of the narrowing even where none has failed (measured)."""

_SHARE, _GROWTH = 64.0, 1.5
"""Failures of the second run, and how much more each later one has (measured)."""

_PROVING = 16.0
"""How much more once an answer is known: then it is mostly the only one, and to prove it takes one whole run."""


def solve(
    puzzle: Puzzle, *, nodes: int | None = None, seconds: float | None = None, near: Answer | None = None
) -> Verdict:
    """Return whether `puzzle` has no answer, exactly one, or at least two.

    `nodes` bounds the choices tried and `seconds` the time; either running out is UNDECIDED.
    `near` is a grid whose digits are tried first: where it is an answer, a second one is soon found. It
    changes how long the search takes, never what it proves.
    """
    search = _Search(puzzle, 2, nodes, seconds, None, near)
    decided = search.run()
    answers = [*search.answers(), None, None]
    if not decided:
        outcome = Outcome.UNDECIDED
    else:
        outcome = (Outcome.NO_ANSWER, Outcome.SOUND, Outcome.TWO_ANSWERS)[len(search.found)]
    return Verdict(outcome, answers[0], answers[1], search.nodes)


def random_answer(puzzle: Puzzle, rng: random.Random, *, nodes: int | None = None) -> Answer | None:
    """Return some answer, chosen by `rng`; None where there is none or `nodes` choices did not find it."""
    search = _Search(puzzle, 1, nodes, None, rng)
    search.share = 4.0 * len(puzzle.cells)
    search.run()
    return next(iter(search.answers()), None)


class _Search:
    """Search for up to `wanted` answers that differ, in runs of growing length.

    Each run is depth-first. One that has had its share of choices is broken off, and the next starts with what
    was learnt: how often each cell failed, the digits that the grid as a whole was found not to have, and the
    answer, where there is one. A run that comes to its end has proved that there are no further answers.
    """

    def __init__(
        self,
        puzzle: Puzzle,
        wanted: int,
        nodes: int | None,
        seconds: float | None,
        rng: random.Random | None,
        near: Answer | None = None,
    ) -> None:
        """Set the budgets going."""
        self.puzzle = puzzle
        self.kernel: Kernel = with_pairs(stated(puzzle))
        self.shape = self.kernel.ground.fields
        self.wanted = wanted
        self.limit = sys.maxsize if nodes is None else nodes
        self.deadline = math.inf if seconds is None else time.perf_counter() + seconds
        self.rng = rng
        self.share = _SHARE
        self.cells = list(range(len(puzzle.cells)))
        self.first = [0] * len(self.cells) if near is None else [
            1 << near.at(cell) - puzzle.least for cell in puzzle.cells]
        self.root = self.kernel.grid
        self.counts = [0] * len(self.cells)
        self.weights = [2.0] * len(self.cells)
        self.nodes = 0
        self.last: int | None = None
        self.failures = 0
        self.room = 0
        self.found: list[int] = []

    def run(self) -> bool:
        """Search; return False where a budget ran out first."""
        try:
            for most, share in self._plan():
                root = self._narrowed(self.root, most)
                if root < 0 or self._run(root, share):
                    break
        except _BudgetSpentError:
            return False
        return True

    def _plan(self) -> Iterator[tuple[int, float]]:
        """What each run has: the most cells of the remainders that are added before it, and its share of failures.

        Long remainders cost time at each choice, which only a long search has back (measured).
        """
        most = most_cells(self.puzzle.size)
        yield self._few_cells(), _FEW
        yield most, self.share
        for further in chain((most + 1,), repeat(0)):
            # Chance, the same on every machine, leads the later runs another way.
            self.rng = self.rng or random.Random(0)
            self.share *= _PROVING if self.found else _GROWTH
            yield further, self.share

    def _few_cells(self) -> int:
        """The most cells of a remainder in the first run.

        Small grids, many givens and sums that cross need none; large grids need most, and who asks for few choices
        needs all.
        """
        size, givens = self.puzzle.size, self.puzzle.givens
        if self.limit < _FEW:
            return most_cells(size)
        if not self.kernel.ground.has_whole_houses:
            return 0
        if size > 9:
            return most_cells(size) - 1
        if size <= 6 or len(givens) > size:
            return 0
        return 3

    def _narrowed(self, root: int, most: int) -> int:
        """The grid narrowed, with remainders of at most `most` cells by the 45 rule; negative where that fails."""
        if most:
            self.kernel = with_remainders(self.kernel, root, most)
        if not self.kernel.possible:
            return -1
        root = propagate(self.kernel, root, None)
        if root >= 0 and self.shape.open(root):
            counts = self.kernel.constraints()
            weights = zip(self.weights, counts, self.counts, strict=True)
            self.weights = [weight + now - before for weight, now, before in weights]
            self.counts = counts
        return root

    def _run(self, root: int, share: float) -> bool:
        """One run of at most so many choices; False where it was broken off."""
        self.room = self.failures + int(share)
        self.root = root
        if self.rng is not None:
            _shuffle(self.cells, self.rng)
        self.cells.sort(key=self.weights.__getitem__, reverse=True)
        try:
            self._descend(root, top=True)
        except _RoomSpentError:
            return False
        return True

    def answers(self) -> list[Answer]:
        """The grids found, each checked again by code of its own."""
        puzzle, before = self.puzzle, self.puzzle.least - 1
        answers = [puzzle.answer([before + mask.bit_length() for mask in self.shape.masks(grid)])
                   for grid in self.found]
        for answer in answers:
            if not obeys(puzzle, answer):
                raise RuntimeError(f"the search returned a grid that breaks the puzzle: {answer}")
        return answers

    def _descend(self, grid: int, *, top: bool = False) -> bool:
        """Try every choice below; return True once enough answers are found."""
        width, full = self.shape.width, (1 << self.shape.size) - 1
        while True:
            cell = self._choose(grid)
            if cell is None:
                if grid not in self.found:
                    self.found.append(grid)
                return len(self.found) == self.wanted
            shift = cell * width
            mask = grid >> shift & full
            bit = self._pick(cell, mask)
            self._spend()
            below = self._narrow(grid ^ (mask ^ bit) << shift, grid)
            if below < 0:
                # A cell whose digits fail is a good place to look next time.
                self.weights[cell] += 0.5
            elif self._descend(below):
                return True
            grid = self._narrow(grid ^ bit << shift, grid)
            if grid < 0:
                self.last = cell
                return False
            if top:
                self.root = grid

    def _narrow(self, grid: int, before: int) -> int:
        """Narrow a grid; the cells of a fact that fails are good places to look, too.

        As long as no choice has failed a little narrowing will do: loose grids are filled so.
        """
        thorough = self.last is not None or self.nodes < _THOROUGH
        narrowed = propagate(self.kernel, grid, before, thorough=thorough)
        if narrowed < 0:
            self.failures += 1
            for cell in self.shape.cells(~narrowed):
                self.weights[cell] += _BLAME
        return narrowed

    def _choose(self, grid: int) -> int | None:
        """The open cell with the fewest candidates for its weight; None where none is open.

        The cell at which the search last had to turn back comes first (Lecoutre, Sais, Tabary and Vidal,
        "Reasoning from last conflict(s) in constraint programming", Artificial Intelligence 173, 2009).
        """
        last, weights, size = self.last, self.weights, self.shape.size
        width, full = self.shape.width, (1 << size) - 1
        if last is not None:
            mask = grid >> last * width & full
            if mask & mask - 1:
                return last
        if not self.shape.open(grid):
            return None
        if not self.nodes % _SORTED:
            self.cells.sort(key=weights.__getitem__, reverse=True)
        best, least = None, 99.0
        for cell in self.cells:
            weight = weights[cell]
            if weight * least <= 2:
                # The cells to come have no more weight and no fewer than two candidates.
                break
            mask = grid >> cell * width & full
            if mask & mask - 1:
                score = mask.bit_count() / weight
                if score < least:
                    best, least = cell, score
        return best

    def _pick(self, cell: int, mask: int) -> int:
        """The digit of a mask to try first."""
        if self.found:
            mask = mask & ~(self.found[0] >> cell * self.shape.width) or mask
        elif self.first[cell] & mask:
            return self.first[cell]
        if self.rng is None:
            return mask & -mask
        bits = [1 << digit for digit in members(mask)]
        _shuffle(bits, self.rng)
        return bits[0]

    def _spend(self) -> None:
        if self.nodes >= self.limit:
            raise _BudgetSpentError
        if self.failures >= self.room:
            raise _RoomSpentError
        if time.perf_counter() >= self.deadline:
            raise _BudgetSpentError
        self.nodes += 1


def _shuffle(items: list[int], rng: random.Random) -> None:
    """Fisher and Yates, drawing on nothing but `rng.random`, whose sequence the standard library keeps."""
    for last in range(len(items) - 1, 0, -1):
        other = int(rng.random() * (last + 1))
        items[last], items[other] = items[other], items[last]
