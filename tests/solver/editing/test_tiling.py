"""Grids covered with cages, symmetrical ones too, and the changes that keep them covered."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence

import pytest

from cagework.solver.editing.compose import Recipe, compose, harden
from cagework.solver.editing.edits import EASIER, HARDER, EditKind, edits, symmetry_of
from cagework.solver.editing.taste import alikeness, look, most_sides
from cagework.solver.editing.tiling import Group, Tiler, changed
from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle, connected, standard_houses
from cagework.solver.recheck import obeys
from cagework.solver.search.exact import Outcome, random_answer, solve
from cagework.solver.symmetry import Motion

MOTIONS = {
    Motion.HALF: lambda cell, end: (end - cell.row, end - cell.col),
    Motion.LEFT_RIGHT: lambda cell, end: (cell.row, end - cell.col),
    Motion.FALLING: lambda cell, end: (cell.col, cell.row),
}
"""Each motion written down afresh; `end` is the number of rows and one more."""


def symmetrical(groups: Iterable[Sequence[Cell]], motion: Motion, size: int) -> bool:
    shapes = {frozenset(map(tuple, group)) for group in groups}
    return all(frozenset(MOTIONS[motion](Cell(*cell), size + 1) for cell in shape) in shapes for shape in shapes)


def answer_of(size: int) -> Answer:
    answer = random_answer(Puzzle(size, standard_houses(size), ()), random.Random(size))
    assert answer
    return answer


def covers(groups: Iterable[Group], answer: Answer) -> bool:
    """Whether every cell is in one group, each connected and of distinct digits."""
    groups, lines = list(groups), range(1, answer.columns + 1)
    every = sorted(cell for group in groups for cell in group)
    return every == [Cell(row, col) for row in lines for col in lines] and all(
        connected(group) and len({answer.at(cell) for cell in group}) == len(group) for group in groups)


@pytest.mark.parametrize(("size", "motion"), [
    *[(size, motion) for size in (6, 9) for motion in MOTIONS], (4, Motion.HALF), (4, Motion.LEFT_RIGHT)])
def test_cages_are_symmetrical_where_that_is_asked(size: int, motion: Motion) -> None:
    made = compose(3, Recipe(size=size, sizes={2: 4, 3: 3, 4: 2}, dominoes=1.0, symmetry=motion))
    assert symmetrical([cage.cells for cage in made.puzzle.cages], motion, size)
    assert obeys(made.puzzle, made.answer) and solve(made.puzzle).outcome is Outcome.SOUND
    harder = harden(made, 1, lambda puzzle: solve(puzzle).outcome is Outcome.SOUND, symmetry=motion)
    assert len(harder.puzzle.cages) <= len(made.puzzle.cages)
    assert symmetrical([cage.cells for cage in harder.puzzle.cages], motion, size)


@pytest.mark.parametrize("motion", [Motion.NONE, *MOTIONS])
def test_every_change_leaves_the_grid_covered(motion: Motion) -> None:
    """And as symmetrical as it was: shifts, splits and merges of a tiling, all of them."""
    answer = answer_of(6)
    tiler = Tiler(answer, {2: 1, 3: 2, 4: 2, 5: 1}, symmetry=motion)
    tilings = filter(None, (tiler.tile(random.Random(seed)) for seed in range(20)))
    groups = next(tilings)
    count = 0
    for change in (*tiler.shifts(groups), *tiler.splits(groups), *tiler.merges(groups)):
        after = changed(groups, change)
        assert covers(after, answer)
        assert set(change.gone) <= set(groups) and not set(change.come) & set(groups)
        assert motion is Motion.NONE or symmetrical(after, motion, 6)
        count += 1
    assert count >= 10


def test_shape_is_as_asked() -> None:
    """Winding cages share fewer sides among their cells than compact ones, over the same seeds."""
    square = [sum(look(compose(seed, Recipe(sizes={3: 1, 4: 2, 5: 1}, compact=compact)).puzzle).squareness
                  for seed in range(6)) for compact in (-6.0, 6.0)]
    assert square[0] < square[1]


def test_most_sides_by_trying_all_shapes() -> None:
    """Harary and Harborth's formula against every polyomino of up to seven squares, grown one by one."""
    shapes = {frozenset([(0, 0)])}
    for cells in range(1, 8):
        most = max(sum((row + 1, col) in shape for row, col in shape) + sum((row, col + 1) in shape
                                                                            for row, col in shape)
                   for shape in shapes)
        assert most_sides(cells) == most
        steps = ((1, 0), (-1, 0), (0, 1), (0, -1))
        shapes = {shape | {near} for shape in shapes for row, col in shape for down, right in steps
                  if (near := (row + down, col + right)) not in shape}


def test_the_look_of_cages_in_figures() -> None:
    cells = [Cell(row, col) for row in range(1, 5) for col in range(1, 5)]
    square, row, domino, rest = (cells[0], cells[1], cells[4], cells[5]), tuple(cells[8:12]), (
        cells[2], cells[3]), (cells[6],)
    groups = [square, row, domino, rest]
    seen = look(Puzzle(4, standard_houses(4), tuple(Cage(group, None) for group in groups)))
    assert (seen.lone, seen.filling, seen.dominoes) == (1, 2, 0.25)
    assert seen.squareness == 0.5   # of the two cages of four one is a square, one a line


def test_alike_is_what_has_the_same_borders_however_it_lies() -> None:
    one, other = (compose(seed, Recipe(size=6)).puzzle for seed in (1, 2))
    turned = Puzzle(6, one.houses, tuple(
        Cage(tuple(sorted(Cell(cell.col, 7 - cell.row) for cell in cage.cells)), None) for cage in one.cages))
    assert alikeness(one, one) == alikeness(one, turned) == 1
    assert 0 < alikeness(one, other) == alikeness(other, one) < 0.8
    assert alikeness(one, compose(1, Recipe(size=4)).puzzle) == 0


def test_edits_leave_the_answer_and_say_what_changes() -> None:
    made = compose(5, Recipe(size=6))
    hidden = Cage(made.puzzle.cages[0].cells, None)
    puzzle = Puzzle(6, made.puzzle.houses, (hidden, *made.puzzle.cages[1:]),
                    givens=(Given(Cell(1, 1), made.answer.at(Cell(1, 1))),))
    kinds = set()
    for edit in edits(puzzle, made.answer, EditKind):
        kinds.add(edit.kind)
        assert obeys(edit.puzzle, made.answer) and edit.puzzle != puzzle
        assert set(edit.puzzle.cages) == set(puzzle.cages) - set(edit.gone) | set(edit.come)
        changed_givens = set(edit.puzzle.givens) ^ set(puzzle.givens)
        assert changed_givens == set(edit.givens)
        if edit.kind is not EditKind.SHOW:
            assert hidden in edit.puzzle.cages, "what is hidden stays hidden, and is not drawn anew"
    assert kinds == set(EditKind) == set(EASIER) | set(HARDER)


def test_edits_keep_symmetry() -> None:
    made = compose(3, Recipe(size=6, sizes={2: 4, 3: 3, 4: 2}, dominoes=1.0, symmetry=Motion.HALF))
    assert symmetry_of(made.puzzle) is Motion.HALF
    assert symmetry_of(compose(1, Recipe(size=6)).puzzle) is Motion.NONE
    found = list(edits(made.puzzle, made.answer, (EditKind.MERGE, EditKind.SPLIT, EditKind.SHIFT)))
    assert found
    assert all(symmetrical([cage.cells for cage in edit.puzzle.cages], Motion.HALF, 6) for edit in found)


def test_the_runs_of_crossing_sums_are_not_edited(crossing: Puzzle, crossing_answer: Answer) -> None:
    assert list(edits(crossing, crossing_answer, EditKind)) == []


@pytest.fixture(name="crossing")
def _crossing() -> Puzzle:
    from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
    return compose_crossing(1, CrossingRecipe(6, 6)).puzzle


@pytest.fixture(name="crossing_answer")
def _crossing_answer(crossing: Puzzle) -> Answer:
    found = solve(crossing).answer
    assert found
    return found
