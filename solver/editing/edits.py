"""Small changes of a sound puzzle that leave its answer as it is: what makes it easier, and what harder."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from cagework.solver.editing.tiling import Change, Tiler, summed
from cagework.solver.model import Answer, Cage, Given, Puzzle
from cagework.solver.symmetry import Motion, moved

LARGEST = 6
"""No cage grows over so many cells, nor over the largest that there is."""


class EditKind(StrEnum):
    """What an edit does, the least to be noticed first."""

    SHOW = "show"      # a cage without a sum gets it
    SHIFT = "shift"    # a cell goes from its cage to the next
    SPLIT = "split"    # one cage becomes two
    MERGE = "merge"    # two cages become one
    HIDE = "hide"      # a cage's sum is no longer printed
    TAKE = "take"      # a given is no longer printed
    GIVE = "give"      # one more digit is printed


EASIER = (EditKind.SHOW, EditKind.SPLIT, EditKind.SHIFT, EditKind.GIVE)
HARDER = (EditKind.MERGE, EditKind.SHIFT, EditKind.HIDE, EditKind.TAKE)


@dataclass(frozen=True, slots=True)
class Edit:
    """One change: cages that go and those that come, givens likewise; `puzzle` is what comes of it.

    Where the cages are symmetrical it keeps them so, and may change twice as many.
    """

    kind: EditKind
    puzzle: Puzzle
    gone: tuple[Cage, ...] = ()
    come: tuple[Cage, ...] = ()
    givens: tuple[Given, ...] = ()


def edits(puzzle: Puzzle, answer: Answer, kinds: Iterable[EditKind]) -> Iterator[Edit]:
    """Every edit of these kinds, kind by kind. None is proved to leave one answer yet, but each leaves this one.

    Crossing sums have none: their runs end where the black squares are.
    """
    if puzzle.shape:
        return
    groups = [cage.cells for cage in puzzle.cages if cage.total is not None]
    largest = max([LARGEST, *map(len, groups)])
    tiler = Tiler(answer, {largest: 1.0}, lone=any(len(cells) == 1 for cells in groups),
                  symmetry=symmetry_of(puzzle))
    for kind in kinds:
        match kind:
            case EditKind.SHIFT:
                yield from _caged(kind, puzzle, answer, tiler.shifts(groups))
            case EditKind.SPLIT:
                yield from _caged(kind, puzzle, answer, tiler.splits(groups))
            case EditKind.MERGE:
                yield from _caged(kind, puzzle, answer, tiler.merges(groups))
            case EditKind.SHOW | EditKind.HIDE:
                yield from _summed(kind, puzzle, answer)
            case EditKind.GIVE | EditKind.TAKE:
                yield from _given(kind, puzzle, answer)


def symmetry_of(puzzle: Puzzle) -> Motion:
    """The motion, undone when it is done twice, that leaves the cages' shapes as they are; NONE for none."""
    shapes = {frozenset(cage.cells) for cage in puzzle.cages}
    for motion in (Motion.HALF, Motion.LEFT_RIGHT, Motion.TOP_BOTTOM, Motion.FALLING, Motion.RISING):
        if all(frozenset(moved(cell, motion, puzzle.size) for cell in shape) in shapes for shape in shapes):
            return motion
    return Motion.NONE


def _caged(kind: EditKind, puzzle: Puzzle, answer: Answer, changes: Iterable[Change]) -> Iterator[Edit]:
    cages = {cage.cells: cage for cage in puzzle.cages}
    for change in changes:
        gone = tuple([cages[cells] for cells in change.gone])
        if any(cage.total is None for cage in gone):
            continue
        come = tuple([summed(answer, cells) for cells in change.come])
        yield Edit(kind, _recaged(puzzle, gone, come), gone, come)


def _summed(kind: EditKind, puzzle: Puzzle, answer: Answer) -> Iterator[Edit]:
    hides = kind is EditKind.HIDE
    for cage in puzzle.cages:
        if (cage.total is None) is not hides:
            come = Cage(cage.cells, None) if hides else summed(answer, cage.cells)
            yield Edit(kind, _recaged(puzzle, (cage,), (come,)), (cage,), (come,))


def _given(kind: EditKind, puzzle: Puzzle, answer: Answer) -> Iterator[Edit]:
    if kind is EditKind.TAKE:
        for given in puzzle.givens:
            yield Edit(kind, replace(puzzle, givens=tuple(one for one in puzzle.givens if one != given)),
                       givens=(given,))
        return
    printed = {given.cell for given in puzzle.givens}
    for cell in puzzle.cells:
        if cell not in printed:
            given = Given(cell, answer.at(cell))
            both = sorted((*puzzle.givens, given), key=lambda one: one.cell)
            yield Edit(kind, replace(puzzle, givens=tuple(both)), givens=(given,))


def _recaged(puzzle: Puzzle, gone: tuple[Cage, ...], come: tuple[Cage, ...]) -> Puzzle:
    kept = [cage for cage in puzzle.cages if cage not in gone]
    return replace(puzzle, cages=tuple(sorted((*kept, *come), key=lambda cage: cage.first)))
