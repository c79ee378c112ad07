"""What the techniques of cage arithmetic share: citing a cage, and what follows of its sum."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from cagework.solver.combine import combinations, combinations_within
from cagework.solver.model import Cage
from cagework.solver.reasoning.filling import fits, supported, union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.step import Cites, Digits, Step, Why

Reach = dict[int, int]
"""Cell -> digits it can hold."""

Masks = Mapping[int, int] | Sequence[int]
"""By cell, what it holds."""


def removals(state: State, reach: Mapping[int, int]) -> tuple[tuple[int, int], ...]:
    """Return what each cell loses when it can hold only these digits."""
    return tuple([(cell, gone) for cell, mask in reach.items() if (gone := state.candidates[cell] & ~mask)])


def cage_cites(state: State, place: int) -> Cites:
    """Cite a cage and all that its cells lack."""
    frame = state.frame
    return Cites(state.missing(frame.cage_sets[place], frame.full), cages=(frame.puzzle.cages[place],))


def cage_left(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, tuple[int, ...]]:
    """Return what a cage's cells can hold, and its combinations, where just these digits are missing."""
    reach, rest, total = cage_open(frame, cage, eliminated)
    kept, left = fits(tuple([reach[cell] for cell in rest]), total)
    reach.update(zip(rest, kept, strict=True))
    return reach, left


def cage_cases(frame: Frame, cage: Cage, masks: Sequence[int]) -> int:
    """Return how many ways there are to make a cage of the digits that its open cells hold between them."""
    open_, total, _ = _parted(frame, cage, masks)
    return len(combinations_within(union_of(open_.values()), len(open_), total)) if open_ else 1


@dataclass(frozen=True, slots=True)
class Untold:
    """Why sets of digits that would make a cage are not among its ways: digits that none of its cells can be, and
    sets (masks) of others that do not fit its cells.
    """

    barred: int
    unfit: tuple[int, ...]

    @property
    def key(self) -> str:
        """Which of the two there is, as part of a sentence's key."""
        return ("_barred" if self.barred else "") + ("_unfit" if self.unfit else "")

    @property
    def why(self) -> Why:
        """The values of a sentence that tells it."""
        return {"barred": Digits(self.barred), "unfit": tuple([Digits(way) for way in self.unfit])}


def untold(frame: Frame, cage: Cage, masks: Sequence[int], told: Iterable[int]) -> Untold:
    """Return why a cage is made in no way but those told, where cells hold `masks`."""
    open_, total, used = _parted(frame, cage, masks)
    union = union_of(open_.values())
    missing = {way for way in combinations(frame.size, len(open_), total) if not way & used}.difference(told)
    barred = union_of(way & ~union for way in missing)
    return Untold(barred, tuple(sorted(way for way in missing if not way & ~union)))


def cage_still_bars(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether the cage a step cites still rules out all it removes, with just these digits missing."""
    reach, rest, total = cage_open(frame, step.cites.cages[0], eliminated)
    kept = supported(tuple([reach[cell] for cell in rest]), total) if rest else ()
    reach.update(zip(rest, kept or [0] * len(rest), strict=True))
    return all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)


def cage_open(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, tuple[int, ...], int]:
    """Return what a cage's cells hold where just these digits are missing, the open ones, and their total."""
    reach = {cell: frame.full & ~eliminated.get(cell, 0) for cell in map(frame.index.__getitem__, cage.cells)}
    open_, total, used = _parted(frame, cage, reach)
    for cell, mask in open_.items():
        reach[cell] = mask & ~used
    return reach, tuple(open_), total


def _parted(frame: Frame, cage: Cage, masks: Masks) -> tuple[Reach, int, int]:
    """What the open cells of a cage hold, what they make, and the digits of the others."""
    open_: Reach = {}
    total, used = cage.total or 0, 0
    for cell in map(frame.index.__getitem__, cage.cells):
        mask = masks[cell]
        if mask & mask - 1:
            open_[cell] = mask
        else:
            used |= mask
            total -= mask.bit_length()
    return open_, total, used
