"""Trial: where no argument that a reader can hold goes on, a cell is tried."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.search.kernel import Kernel, lower
from cagework.solver.search.propagate import propagate
from cagework.solver.step import Cites, Digits, Step, Why

_TRIES = 2_000
"""Choices after which a candidate counts as one that cannot be refuted."""

_LOOKS = 10
"""What one of them takes, in looks of a simple technique."""


_Stand = tuple[int, int, int]
"""How many candidates are left with a digit in a cell, the digit as a bit, and the grid then."""


class Trial(Technique):
    """All digits of a cell but one are tried to the end, and fail."""

    cost = 2000
    look = Scope.GRID
    last_resort = True
    sentences: ClassVar = {
        "places": "No short argument goes on from here. Try {cell}: with {digits:or} the grid comes to nothing, "
                  "so {cell} is {digit}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """One step, of the cells with fewest candidates the first one decided of those that may open most."""
        kernel, now = lower(state.frame.puzzle), state.candidates
        open_ = [cell for cell, mask in enumerate(now) if mask & mask - 1]
        for few in sorted({now[cell].bit_count() for cell in open_}):
            tried = [(_standing(kernel, state, cell), cell) for cell in open_ if now[cell].bit_count() == few]
            for stands, cell in sorted(tried, key=lambda one: (len(one[0]) > 1, min(one[0], default=(0,)))):
                left = [one for one in stands if len(stands) == 1 or not _refuted(kernel, state, one[2])]
                if len(left) == 1:
                    yield self._step(state, cell, left[0][1])
                    return

    def _step(self, state: State, cell: int, bit: int) -> Step:
        frame = state.frame
        puzzle = frame.puzzle
        known = state.missing((1 << len(frame.cells)) - 1, frame.full)
        cites = Cites(known, puzzle.houses, puzzle.cages, puzzle.pairs, sums=puzzle.sums,
                      betweens=puzzle.betweens)
        why: Why = {"cell": frame.cells[cell], "digit": bit.bit_length(),
                    "digits": Digits(state.candidates[cell] ^ bit)}
        return replace(self.step(state, "places", cites, why, places=((cell, bit),)), load=0)

    def load(self, frame: Frame, masks: object, step: Step) -> int:
        """None: to try is no reasoning."""
        return 0

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """It rests on the whole puzzle."""
        return False


def _standing(kernel: Kernel, state: State, cell: int) -> list[_Stand]:
    """The digits of a cell that do not fail by narrowing alone."""
    stands: list[_Stand] = []
    shape = kernel.ground.fields
    grid = shape.pack(state.candidates)
    for index in members(state.candidates[cell]):
        state.work.spend(_LOOKS)
        trial = propagate(kernel, shape.placed(grid, cell, index), grid)
        if trial >= 0:
            stands.append((trial.bit_count(), 1 << index, trial))
    return stands


def _refuted(kernel: Kernel, state: State, trial: int) -> bool:
    """Whether a narrowed grid is shown to have no answer."""
    shape = kernel.ground.fields
    left = _TRIES
    waiting = [trial]
    while waiting:
        grid = waiting.pop()
        masks = shape.masks(grid)
        open_ = [one for one, mask in enumerate(masks) if mask & mask - 1]
        if not open_ or left <= 0:
            return False
        cell = min(open_, key=lambda one: masks[one].bit_count())
        for index in members(masks[cell]):
            left -= 1
            state.work.spend(_LOOKS)
            below = propagate(kernel, shape.placed(grid, cell, index), grid)
            if below >= 0:
                waiting.append(below)
    return True
