"""What the techniques of cage arithmetic share: citing a cage, and what follows of its sum."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cagework.solver.combine import combinations_within
from cagework.solver.model import Cage
from cagework.solver.reasoning.filling import fits, supported
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.step import Cites, Step

Reach = dict[int, int]
"""Cell -> digits it can hold."""


def removals(state: State, reach: Mapping[int, int]) -> tuple[tuple[int, int], ...]:
    """Return what each cell loses when it can hold only these digits."""
    return tuple([(cell, gone) for cell, mask in reach.items() if (gone := state.candidates[cell] & ~mask)])


def cage_cites(state: State, place: int) -> Cites:
    """Cite a cage and all that its cells lack."""
    frame = state.frame
    return Cites(state.missing(frame.cage_sets[place], frame.full), cages=(frame.puzzle.cages[place],))


def cage_left(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, tuple[int, ...]]:
    """Return what a cage's cells can hold, and its combinations, where just these digits are missing."""
    reach, rest, total = _cage_open(frame, cage, eliminated)
    kept, left = fits(tuple([reach[cell] for cell in rest]), total)
    reach.update(zip(rest, kept, strict=True))
    return reach, left


def cage_cases(frame: Frame, cage: Cage, masks: Sequence[int]) -> int:
    """Return how many ways there are to make a cage of the digits that its open cells hold between them."""
    union, count, total = 0, 0, cage.total or 0
    for cell in map(frame.index.__getitem__, cage.cells):
        if masks[cell] & masks[cell] - 1:
            union |= masks[cell]
            count += 1
        else:
            total -= masks[cell].bit_length()
    return len(combinations_within(union, count, total)) if count else 1


def cage_still_bars(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether the cage a step cites still rules out all it removes, with just these digits missing."""
    reach, rest, total = _cage_open(frame, step.cites.cages[0], eliminated)
    kept = supported(tuple([reach[cell] for cell in rest]), total) if rest else ()
    reach.update(zip(rest, kept or [0] * len(rest), strict=True))
    return all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)


def _cage_open(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, list[int], int]:
    """A cage's cells with what they hold where just these digits are missing, the open ones, their total."""
    masks = {cell: frame.full & ~eliminated.get(cell, 0) for cell in map(frame.index.__getitem__, cage.cells)}
    total = cage.total or 0
    rest, used = [], 0
    for cell, mask in masks.items():
        if mask & mask - 1:
            rest.append(cell)
        else:
            used |= mask
            total -= mask.bit_length()
    for cell in rest:
        masks[cell] &= ~used
    return masks, rest, total
