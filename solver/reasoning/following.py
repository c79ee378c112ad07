"""A supposition, followed round by round: all that follows at once, then all that follows of that.

What lies near is found before what lies far, so that the argument which comes of it, pruned, is short.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

from cagework.solver.bitset import members
from cagework.solver.model import Cell
from cagework.solver.reasoning.agenda import Agenda
from cagework.solver.reasoning.prune import Pruner, Trail, total_cites
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Technique
from cagework.solver.step import Cites, Step

_ROUNDS = 5
"""The most rounds in which a supposition is followed: of those that end later few are short once pruned."""

_STEPS = 40
"""The most steps that are taken, for the same reason."""

_Look = tuple[str, tuple[Cell, ...], tuple[int, ...]]
"""What a step looks at: its technique, the cells that it changes, and the facts that it goes by, each by identity,
which is its own as long as the puzzle is.
"""

DeadEnd = Callable[[State, int, bool], Step | None]
"""A state -> what has become impossible in it since an entry of its log; or whether or not since then, where that
is asked of what was touched since.
"""


class _Round:
    """How things stand at the beginning of a round, which stays so, and what follows at once, looked for as far as
    it was asked for.
    """

    __slots__ = ("_found", "_left", "_looks", "_scout", "trail")

    def __init__(self, trail: Trail, scout: Agenda) -> None:
        """Nothing was asked for yet."""
        self.trail, self._scout = trail, scout
        self._found: list[Step] = []
        self._left: Iterator[Step] | None = None
        self._looks = 0

    def steps(self) -> Iterator[Step]:
        """Return what follows, the cheapest first; each time at the cost of finding all of it."""
        work = self.trail.state.work
        if self._left is None:
            before = work.spent
            self._left = self._scout.everything()
            self._looks = work.spent - before
        else:
            work.spend(self._looks)
        return self._come_to(self._left)

    def _come_to(self, left: Iterator[Step]) -> Iterator[Step]:
        yield from self._found
        for step in left:
            self._found.append(step)
            yield step

    def next(self, trail: Trail) -> _Round:
        """The round after this one, all of which was come to."""
        return _Round(trail, self._scout.copy(trail.state))


@dataclass(frozen=True, slots=True)
class Argument:
    """The steps that lead from a supposition to its dead end, that included, and no others, with all they cite.

    `numbers` are theirs in what was followed, of which `rounds` are the beginnings.
    """

    parts: tuple[Step, ...]
    cites: Cites
    numbers: tuple[int, ...]
    rounds: Sequence[_Round]


class Following:
    """Follows a supposition by some techniques until `dead_end` finds something impossible."""

    def __init__(self, techniques: Iterable[Technique], dead_end: DeadEnd) -> None:
        self.techniques = {technique.name: technique for technique in techniques}
        self.dead_end = dead_end

    def argument(self, state: State, supposed: Step) -> Argument | None:
        """Return what leads to the first dead end; None where there is none near."""
        trail = Trail(state.copy())
        scout = Agenda(trail.state, self.techniques.values(), anew=False)
        trail.add(supposed)
        begun = _Round(trail, scout)
        end = self.dead_end(trail.state, 0, True)
        return self._pruned(trail, end, [begun]) if end else self._followed([begun], frozenset())

    def shortened(self, found: Argument, enough: int) -> Argument:
        """Return an argument looked for again without each of its steps in turn, until it has few enough: what
        comes to an end in no more goes on without.
        """
        left_out: set[_Look] = set()
        tried: set[_Look] = set()
        while len(found.parts) > enough:
            looks = zip(map(_look, found.parts), found.numbers, strict=True)
            look, number = next(((one, at) for one, at in looks if one not in tried), (None, 0))
            if look is None:
                break
            tried.add(look)
            begun = [one for one in found.rounds if len(one.trail.steps) <= number]
            other = self._followed(begun, left_out | {look})
            if other is not None and len(other.parts) <= len(found.parts):
                found = other
                left_out.add(look)
        return found

    def _followed(self, begun: Sequence[_Round], left_out: Set[_Look]) -> Argument | None:
        """Go on from the beginning of a round, the last of these, without some steps."""
        rounds = list(begun)
        flawed = not _is_whole(rounds[0].trail.state)
        while len(rounds) <= _ROUNDS and len(rounds[-1].trail.steps) <= _STEPS:
            trail = rounds[-1].trail.copy()
            state, seen = trail.state, len(trail.state.log)
            for step in rounds[-1].steps():
                if state.changes_by(step) and not (left_out and _look(step) in left_out):
                    before = len(state.log)
                    trail.add(step)
                    end = self.dead_end(state, before, flawed)
                    if end is not None:
                        return self._pruned(trail, end, rounds)
            if len(state.log) == seen:
                break
            rounds.append(rounds[-1].next(trail))
        return None

    def _pruned(self, trail: Trail, end: Step, rounds: Sequence[_Round]) -> Argument | None:
        """The steps that lead to the dead end, and no others; None where the supposition is none of them."""
        supposed = rounds[0].trail
        trail.add(end)
        trimmer = Pruner(trail, (len(trail.steps) - 1,), self.techniques)
        kept = trimmer.run()
        if kept.pop(0, None) is None:
            return None
        whole = len(kept)
        for number in reversed(list(kept)):
            if _stands(supposed.state, kept, number):
                del kept[number]
        if len(kept) < whole:
            trail = supposed.copy()
            for step in kept.values():
                trail.add(step)
            trimmer = Pruner(trail, (len(kept),), {})
            trimmer.run()
        parts = tuple(kept.values())
        return Argument(parts, total_cites(trimmer, parts), tuple(kept), rounds)


def _is_whole(state: State) -> bool:
    """Whether each digit has a place in each house that needs it."""
    frame = state.frame
    return all(everywhere & inside for inside, whole in zip(frame.house_sets, frame.whole, strict=True) if whole
               for everywhere in state.digit_places)


def _stands(state: State, steps: Mapping[int, Step], without: int) -> bool:
    """Whether each of an argument's steps has all that it rests on where one of them is left out."""
    masks, frame = state.candidates[:], state.frame
    for number, step in steps.items():
        if number == without:
            if not (step.places or step.removes):
                return False        # its end
            continue
        if any(masks[frame.index[cell]] & mask for cell, mask in step.cites.eliminated):
            return False
        for name, digit in step.places:
            cell, bit = frame.index[name], 1 << digit - 1
            for other in members(frame.sees[cell]):
                masks[other] &= ~bit
            masks[cell] = bit
        for name, mask in step.removes:
            masks[frame.index[name]] &= ~mask
    return True


def _look(step: Step) -> _Look:
    """What a step looks at, whatever it finds there."""
    cells, cites = tuple([cell for cell, _ in step.places or step.removes]), step.cites
    return step.technique, cells, tuple(map(id, (*cites.houses, *cites.cages, *cites.ruled)))
