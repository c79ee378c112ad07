"""What areas of crossing sums leave, held against answers; and how far a search gets with it."""

from __future__ import annotations

import pytest

from cagework.solver.crossing import crossing_sums, runs
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Cell, Shape
from cagework.solver.search.crossed import remainders
from cagework.solver.search.exact import Outcome, solve
from cagework.solver.search.kernel import stated

MAP = [
    "#..##....", "...#.....", "..#..#..#", "..#..#..#", "..#...#..",
    "#..#..#..", "#..#..#..", ".....#...", "....##..#",
]
"""Composed here: a sound puzzle that narrowing run by run leaves wide open, as do trials of many of its digits."""
ACROSS = [7, 18, 16, 17, 12, 9, 9, 9, 7, 7, 7, 20, 16, 17, 12, 9, 8, 8, 8, 30, 20, 20, 10]
DOWN = [23, 16, 45, 4, 27, 8, 6, 37, 3, 18, 24, 10, 45, 5, 25]
SHAPE = Shape(9, 9, tuple(Cell(row, col) for row, line in enumerate(MAP, 1) for col, square in enumerate(line, 1)
                          if square == "."))


@pytest.mark.parametrize("recipe", [CrossingRecipe(6, 6), CrossingRecipe(9, 12), CrossingRecipe(12, 7, longest=8)])
def test_what_an_area_leaves_makes_its_total(recipe: CrossingRecipe) -> None:
    """In the answer, which the areas know nothing of."""
    for seed in range(3):
        made = compose_crossing(seed, recipe)
        cells = made.puzzle.cells
        found = remainders(stated(made.puzzle).sums, 4)
        assert found
        for plus, minus, total in found:
            assert 0 < (plus | minus).bit_count() <= 4 and not plus & minus
            made_of = [sum(made.answer.at(cell) for number, cell in enumerate(cells) if side >> number & 1)
                       for side in (plus, minus)]
            assert made_of[0] - made_of[1] == total


def test_two_runs_that_cross_two_differ_by_their_corners() -> None:
    """1 2 over 3 4 with a cell more to the right and one below: 6 + 7 across, 4 + 11 down, and 5 - 3 apart."""
    shape = Shape(3, 3, tuple(Cell(row, col) for row, col in ((1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (3, 2))))
    across, down = runs(shape)
    assert [len(run) for run in (*across, *down)] == [3, 2, 2, 3]
    puzzle = crossing_sums(shape, [1 + 2 + 3, 3 + 4], [1 + 3, 2 + 4 + 5])
    corner, foot = 1 << 2, 1 << 5
    assert (foot, corner, 5 - 3) in remainders(stated(puzzle).sums, 2)


def test_sums_that_do_not_cross_leave_nothing() -> None:
    assert remainders([(0b11, 3), (0b1100, 7)], 4) == []


def test_areas_spare_the_search_most_of_its_choices() -> None:
    """Without them it takes hundreds."""
    puzzle = crossing_sums(SHAPE, ACROSS, DOWN)
    verdict = solve(puzzle)
    assert verdict.outcome is Outcome.SOUND
    assert verdict.nodes < 100


def test_areas_that_contradict_each_other_are_seen_at_once() -> None:
    """A square whose sums across and down differ has no cell left over, and a total all the same."""
    square = Shape(2, 2, tuple(Cell(row, col) for row in (1, 2) for col in (1, 2)))
    assert (0, 0, 1) in [(plus, minus, abs(total)) for plus, minus, total in remainders(
        stated(crossing_sums(square, [9, 9], [9, 8])).sums, 4)]
    assert solve(crossing_sums(square, [9, 9], [9, 8])).outcome is Outcome.NO_ANSWER
