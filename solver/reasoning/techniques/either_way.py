"""Either way: suppose each of two ways on in turn, and strike what both suppositions strike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.agenda import Agenda
from cagework.solver.reasoning.forks import Fork, cage_why, likeliest
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.prune import Pruner, Trail, total_cites
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Supposing
from cagework.solver.step import Cites, Claim, Digits, Eliminated, Step, Why, joined

_COST, _LINK = 620, 80
"""What two suppositions cost, and each unit of their load: less than a what-if of as many, since neither is wrong.
What each leads to may be seen on the page once the cell is filled, and no dead end has to be recognised.
"""

_LOAD = 5
"""The most that a step of it may ask for: less than a supposition may have links, since two arguments must be kept
apart. Of 4 to 8 on hard puzzles this gave paths of least load.
"""

_FORKS = 6
"""Forks that are looked at, those that lead least far first."""

_RUN = 8
"""The most steps followed on each way: of what is struck later little has a short argument."""

_ENDS = 4
"""Ends of a fork's branches that are argued for."""


@dataclass(slots=True)
class _Followed:
    """What follows of a supposition: its steps, and whether they came to nothing or to an end."""

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


class EitherWay(Supposing):
    """A candidate goes whichever of two digits a cell is, or of two places a digit has, or of two ways a cage."""

    cost = 1260
    sentences: ClassVar = {
        "removes": "{cell} is {digits:or}.",
        "digit": "The {digit} of {house} goes in {spots:or}.",
        "cage": "{made} is {ways}{reason}.",
        "one": "Suppose it is {digit}.",
        "there": "Suppose it goes in {cell}.",
        "way": "Suppose it is {way}.",
        "other": "Now suppose {cell} is {digit}.",
        "other_way": "Now suppose {made} is {way}.",
        "ends": "Then {claims:list}.",
        "+either": "Either way, {claims:list}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The shortest step of the first of the likeliest forks that has one."""
        state.doomed()
        for fork in likeliest(state)[:_FORKS]:
            step = self._suppose(state, fork)
            if step is not None:
                yield step
                return
            state.doom.give_up(fork, state.candidates)

    def _suppose(self, state: State, fork: Fork) -> Step | None:
        """The shortest argument from a fork; None where none was found."""
        branches = [self._branch(state, self.step(state, key, Cites(), branch.why, places=branch.places,
                                                  removes=branch.removes))
                    for key, branch in zip((fork.one, fork.other), fork.branches(state), strict=True)]
        found: list[Step] = []
        seen: set[tuple[int, int]] = set()
        for _ in range(_RUN):
            for end in _ends(state, branches):
                if end not in seen and len(seen) < _ENDS:
                    seen.add(end)
                    found += self._argued(state, fork, branches, [end])
            stand = [branch.go_on() for branch in branches] if not found else []
            if not stand or not all(stand) or all(branch.over for branch in branches):
                break
        best = min(found, key=lambda step: step.cost, default=None)
        return best and self._in_full(state, fork, best)

    def _branch(self, state: State, *steps: Step) -> _Followed:
        """These steps, taken."""
        below = state.copy()
        trail, scout = Trail(below), Agenda(below, self._simple, anew=False)
        for step in steps:
            trail.add(step)
        return _Followed(trail, scout)

    def _in_full(self, state: State, fork: Fork, step: Step) -> Step:
        """The step with all that its argument strikes, so that the same is not supposed again for the rest."""
        branches: list[_Followed] = []
        for part in step.parts:
            if part.supposes:
                branches.append(self._branch(state))
            if not self._is_end(part):
                branches[-1].trail.add(part)
        full = self._argued(state, fork, branches, _ends(state, branches))
        return next((one for one in full if one.cost == step.cost), step)

    def _argued(
        self, state: State, fork: Fork, branches: Sequence[_Followed], ends: Iterable[tuple[int, int]]
    ) -> Iterator[Step]:
        """The step that strikes candidates by what both branches need for them, if that is short."""
        struck: dict[int, int] = {}
        for target, index in ends:
            struck[target] = struck.get(target, 0) | 1 << index
        parts: list[Step] = []
        used: list[Cites] = []
        for branch in branches:
            kept, cites = self._kept(branch, struck)
            parts += kept
            used.append(cites)
        load = _load(parts, self.name)
        if load <= _LOAD and sum(part.supposes for part in parts) == len(branches):
            known, why = fork.told(state)
            step = self.step(state, fork.key + "+either", joined(known, *used), why, removes=struck.items())
            yield replace(step, why=why | {"claims": _claims(step.removes)}, parts=tuple(parts),
                          cost=_COST + _LINK * load)

    def _kept(self, branch: _Followed, struck: Mapping[int, int]) -> tuple[list[Step], Cites]:
        """The steps of a branch that strike these candidates, with its end, and all they cite."""
        trail = branch.trail
        end = self.step(trail.state, "ends", Cites(), {}, removes=struck.items())
        end = replace(end, cites=Cites(end.removes), why={"claims": _claims(end.removes)})
        trail.add(end)      # which changes nothing
        trimmer = Pruner(trail, (len(trail.steps) - 1,), {technique.name: technique for technique in self._simple})
        kept = list(trimmer.run().values())
        return kept, total_cites(trimmer, kept)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what it strikes, and no more."""
        if step.supposes:
            return step
        own: Why = {"claims": _claims(step.removes)}
        parts = [replace(part, removes=step.removes, cites=Cites(step.removes), why=own) if self._is_end(part)
                 else part for part in step.parts]
        why, ways = step.why | own, step.why.get("ways")
        if isinstance(ways, tuple):
            masks = [one.mask for one in ways if isinstance(one, Digits)]
            why |= cage_why(frame, step.cites, step.cites.cages[0], masks)
        return replace(step, why=why, parts=tuple(parts))

    def _is_end(self, part: Step) -> bool:
        """Whether a part is the end of a branch."""
        return part.technique == self.name and not part.supposes

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The links of both branches, and one for having two; not more than _LOAD."""
        return _load(step.parts, self.name)


def _claims(struck: Eliminated) -> tuple[Claim, ...]:
    """What is struck, one by one."""
    return tuple([Claim(cell, digit, holds=False) for cell, mask in struck for digit in Digits(mask)])


def _load(parts: Iterable[Step], name: str) -> int:
    """What is neither supposed nor the end of a branch, and one."""
    return 1 + sum(not part.supposes and part.technique != name for part in parts)


def _ends(state: State, branches: Sequence[_Followed]) -> list[tuple[int, int]]:
    """What both branches have struck, as (cell, digit's index)."""
    one, other = (branch.now for branch in branches)
    return [(cell, index) for cell, mask in enumerate(state.candidates)
            for index in members(mask & ~(one[cell] | other[cell]))]
