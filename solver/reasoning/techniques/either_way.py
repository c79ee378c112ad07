"""Either way: suppose each of a cell's two candidates in turn, and strike what both suppositions strike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.agenda import Agenda
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.prune import Pruner, Trail, total_cites
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import MOST_LINKS, Scope, Technique
from cagework.solver.step import Cites, Digits, Step, Why, joined

_COST, _LINK = 62, 8
"""What two suppositions cost, and each unit of their load: less than a what-if of as many, since neither is wrong.
What each leads to may be seen on the page once the cell is filled, and no dead end has to be recognised.
"""

_CELLS = 4
"""Cells that are looked at, those whose candidates lead least far first."""

_RUN = 8
"""The most steps followed from each candidate: of what is struck later little has a short argument."""

_ENDS = 3
"""Ends of a cell's branches that are argued for."""

_BOTH = -1
"""Stands for both candidates of a cell among those that were given up."""


@dataclass(slots=True)
class _Branch:
    """What follows of a candidate: its steps, and whether they came to nothing or to an end."""

    trail: Trail
    scout: Agenda
    over: bool = field(default=False)

    @property
    def now(self) -> list[int]:
        """The candidates that are left."""
        return self.trail.state.candidates

    def go_on(self) -> bool:
        """Take one step more; whether the grid still stands."""
        steps = [] if self.over else self.scout.cheapest()
        self.over = not steps
        if steps:
            self.trail.add(steps[0])
        return 0 not in self.now


class EitherWay(Technique):
    """A candidate that is struck whichever of its two digits a cell is."""

    cost = 126
    look = Scope.GRID
    last_resort = True
    sentences: ClassVar = {
        "removes": "{cell} is {digits:or}.",
        "one": "Suppose it is {digit}.",
        "other": "Now suppose {cell} is {digit}.",
        "ends": "Then {cell} is not {digit}.",
        "+either": "Either way, {target} is not {digit}.",
    }

    def __init__(self) -> None:
        self._simple: tuple[Technique, ...] = ()

    def equip(self, others: Iterable[Technique]) -> None:
        """Take the simple techniques as tools."""
        self._simple = tuple(technique for technique in others if technique.simple)

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The shortest step of the first of the likeliest cells that has one."""
        state.doomed()
        for cell in _likeliest(state)[:_CELLS]:
            step = self._suppose(state, cell)
            if step is not None:
                yield step
                return
            state.doom.give_up((cell, _BOTH), state.candidates)

    def _suppose(self, state: State, cell: int) -> Step | None:
        """The shortest argument from a cell's two candidates; None where none was found."""
        branches = [self._branch(state, cell, index, key)
                    for key, index in zip(("one", "other"), members(state.candidates[cell]), strict=True)]
        found: list[Step] = []
        seen: set[tuple[int, int]] = set()
        for _ in range(_RUN):
            for end in _ends(state, branches):
                if end not in seen and len(seen) < _ENDS:
                    seen.add(end)
                    found += self._argued(state, cell, branches, *end)
            if found or not all([branch.go_on() for branch in branches]) or all(one.over for one in branches):
                break
        return min(found, key=lambda step: step.cost, default=None)

    def _branch(self, state: State, cell: int, index: int, key: str) -> _Branch:
        """One candidate, supposed."""
        below = state.copy()
        trail = Trail(below)
        scout = Agenda(below, self._simple, 0)
        why: Why = {"cell": state.frame.cells[cell], "digit": index + 1}
        trail.add(self.step(below, key, Cites(), why, places=((cell, 1 << index),)))
        return _Branch(trail, scout)

    def _argued(
        self, state: State, cell: int, branches: Sequence[_Branch], target: int, index: int
    ) -> Iterator[Step]:
        """The step that strikes a candidate by what both branches need for it, if that is short."""
        names, bit = state.frame.cells, 1 << index
        own = Cites(((names[cell], state.frame.full & ~state.candidates[cell]),))
        parts: list[Step] = []
        cites = [own]
        for branch in branches:
            kept, used = self._kept(branch, target, bit)
            parts += kept
            cites.append(used)
        why: Why = {"cell": names[cell], "digits": Digits(state.candidates[cell]), "target": names[target],
                    "digit": index + 1}
        step = self.step(state, "removes+either", joined(*cites), why, removes=((target, bit),))
        step = replace(step, parts=tuple(parts))
        load = _load(step)
        if load <= MOST_LINKS and sum(part.supposes for part in parts) == len(branches):
            yield replace(step, cost=_COST + _LINK * load)

    def _kept(self, branch: _Branch, target: int, bit: int) -> tuple[list[Step], Cites]:
        """The steps of a branch that strike a candidate, with its end, and all they cite."""
        state = branch.trail.state
        name = state.frame.cells[target]
        end = self.step(state, "ends", Cites(((name, bit),)), {"cell": name, "digit": bit.bit_length()},
                        removes=((target, bit),))
        trail = branch.trail
        trail.add(end)      # which changes nothing
        trimmer = Pruner(trail, (len(trail.steps) - 1,), {technique.name: technique for technique in self._simple})
        kept = list(trimmer.run().values())
        return kept, total_cites(trimmer, kept)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The links of both branches, and one for having two; not more than MOST_LINKS."""
        return _load(step)


def _load(step: Step) -> int:
    """What is neither supposed nor the end of a branch, and one."""
    return 1 + sum(not part.supposes and part.technique != step.technique for part in step.parts)


def _likeliest(state: State) -> list[int]:
    """The cells of two candidates that narrowing alone finds a common end for, those first where it goes least far."""
    now, stood = state.candidates, state.doom.stood
    found: list[tuple[int, int]] = []
    for cell, mask in enumerate(now):
        if mask.bit_count() != 2 or not state.doom.is_worth_it((cell, _BOTH), now):
            continue
        one, other = (stood.get((cell, index)) for index in members(mask))
        if one is not None and other is not None and any(
                left & ~(a | b) for left, a, b in zip(now, one, other, strict=True)):
            gone = sum((left & ~a).bit_count() + (left & ~b).bit_count()
                       for left, a, b in zip(now, one, other, strict=True))
            found.append((gone, cell))
    return [cell for _, cell in sorted(found)]


def _ends(state: State, branches: Sequence[_Branch]) -> list[tuple[int, int]]:
    """What both branches have struck, as (cell, digit's index)."""
    one, other = (branch.now for branch in branches)
    return [(cell, index) for cell, mask in enumerate(state.candidates)
            for index in members(mask & ~(one[cell] | other[cell]))]
