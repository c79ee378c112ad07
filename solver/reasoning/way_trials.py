"""A cage's ways, each tried against what it leaves its surroundings: what several techniques share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from operator import and_, or_

from cagework.solver.combine import digits_of
from cagework.solver.model import Cage
from cagework.solver.reasoning.cage_sums import cage_open, made_of, no_other
from cagework.solver.reasoning.dead_ends import DeadEnd, Ground, cited_ground
from cagework.solver.reasoning.filling import fits, supported
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.technique import MOST_CASES
from cagework.solver.step import DeadWay, Digits, Step, Why


@dataclass(frozen=True, slots=True)
class Trial:
    """A way as a set of digits, what each open cell can then hold, and where it ends, if it does."""

    way: int
    held: tuple[int, ...]
    end: DeadEnd | None


@dataclass(frozen=True, slots=True)
class Trials:
    """All ways to make a cage out of its open cells."""

    ground: Ground
    cells: tuple[int, ...]
    all: tuple[Trial, ...]

    @property
    def dead(self) -> list[Trial]:
        """Those that come to a dead end."""
        return [trial for trial in self.all if trial.end is not None]

    @property
    def live(self) -> list[Trial]:
        """Those that do not."""
        return [trial for trial in self.all if trial.end is None]

    @property
    def ways(self) -> set[int]:
        """The ways alone."""
        return {trial.way for trial in self.all}

    def reach(self) -> dict[int, int]:
        """What the cells hold in the ways that do not end."""
        reach = [0] * len(self.cells)
        for trial in self.live:
            reach = list(map(or_, reach, trial.held))
        return dict(zip(self.cells, reach, strict=True))


def tried(
    ground: Ground, cells: tuple[int, ...], kept: Sequence[int], combinations: Iterable[int], *,
    cell: int = -1, bit: int = 0,
) -> Trials:
    """Try each combination on open cells that hold no more than `kept`; with a digit in one of them, if any."""
    if cell >= 0:
        kept = [bit if one == cell else mask & ~bit for one, mask in zip(cells, kept, strict=True)]
    return Trials(ground, cells, tuple([
        Trial(way, held, ground.dead_end(cells, held)) for way, held in _held(kept, combinations)]))


def first_live(
    ground: Ground, cells: tuple[int, ...], kept: Sequence[int], combinations: Iterable[int], cell: int, bit: int,
) -> int:
    """Return the first combination that comes to no dead end, as `tried` tries them; 0 for none."""
    kept = [bit if one == cell else mask & ~bit for one, mask in zip(cells, kept, strict=True)]
    return next((way for way, held in _held(kept, combinations) if ground.dead_end(cells, held) is None), 0)


def any_dead(ground: Ground, cells: tuple[int, ...], kept: Sequence[int], combinations: Iterable[int]) -> bool:
    """Whether any of these combinations comes to a dead end."""
    return any(ground.dead_end(cells, held) is not None for _, held in _held(kept, combinations))


def enough(
    ground: Ground, cells: tuple[int, ...], kept: Sequence[int], combinations: Iterable[int],
) -> tuple[int, ...]:
    """Return combinations that come to no dead end and between which open cells hold all of `kept`, no more than
    that takes, near enough; none where they do not.
    """
    left, found = list(kept), []
    for way, held in _held(kept, combinations):
        if any(map(and_, held, left)) and ground.dead_end(cells, held) is None:
            found.append(way)
            left = [mask & ~one for mask, one in zip(left, held, strict=True)]
    return () if any(left) else tuple(found)


def _held(kept: Sequence[int], combinations: Iterable[int]) -> Iterator[tuple[int, tuple[int, ...]]]:
    """The combinations that go into cells that hold no more than `kept`, with what these hold then."""
    for way in combinations:
        held = supported(tuple([mask & way for mask in kept]), sum(digits_of(way)))
        if held:
            yield way, held


def tried_again(
    frame: Frame, step: Step, eliminated: Mapping[int, int], *, cell: int = -1, bit: int = 0
) -> Trials | None:
    """The ways of the cage that a step names, by what it cites with just these digits missing; None where there
    are none, or far too many.
    """
    cites = step.cites
    masks = frame.lacking(eliminated)
    if not cites.cages or cites.cages[0] != step.why["cage"] or 0 in masks:
        return None
    reach, cells, total = cage_open(frame, cites.cages[0], eliminated)
    for one in cells:
        masks[one] = reach[one]
    kept, combinations = fits(tuple([masks[one] for one in cells]), total)
    if not 0 < len(combinations) <= 2 * MOST_CASES or (cell >= 0 and cell not in cells):
        return None
    return tried(cited_ground(frame, cites, masks), cells, kept, combinations, cell=cell, bit=bit)


def told(frame: Frame, cage: Cage, trials: Trials, masks: Sequence[int]) -> Why:
    """Name the ways that are left, each dead one with what it would leave without anything, and why there are no
    others where cells hold `masks`.
    """
    return {
        "cage": cage, "made": made_of(frame, cage, masks), "reason": no_other(frame, cage, masks, trials.ways),
        "live": tuple([Digits(trial.way) for trial in trials.live]),
        "dead": tuple([DeadWay(Digits(trial.way), end.leaves, end.digit, end.held, end.left)
                       for trial in trials.all if (end := trial.end) is not None]),
    }


def told_ways(step: Step) -> set[int]:
    """The ways that a step names."""
    live, dead = step.why["live"], step.why["dead"]
    assert isinstance(live, tuple) and isinstance(dead, tuple), "ways are lists"
    return {one.mask for one in live if isinstance(one, Digits)} | {
        one.way.mask for one in dead if isinstance(one, DeadWay)}
