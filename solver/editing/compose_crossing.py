"""Seed and recipe -> crossing sums: a pattern of black squares, and digits changed until one answer is left.

As in `compose`, only `Random.random` is drawn from, and nothing runs in the order of a set.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cagework.solver.crossing import DIGITS, Run, crossing_sums, runs
from cagework.solver.editing.compose import MOST_NODES, Composed, ComposeError
from cagework.solver.model import Answer, Cage, Cell, Puzzle, Shape, connected
from cagework.solver.search.exact import Outcome, random_answer, solve
from cagework.solver.search.kernel import lower
from cagework.solver.search.propagate import propagate

_SWAPS = 0.3
"""The share of changes that swap two digits of a run."""

_PATIENCE = 150
"""Changes that better nothing, after which another pattern is tried."""


@dataclass(frozen=True, slots=True)
class CrossingRecipe:
    """What to compose: rows and columns, the most cells a run is to have, and the share of squares to make black,
    which is more where runs would be longer. `tries` bounds the patterns.
    """

    rows: int
    columns: int
    longest: int = 5
    black: float = 0.3
    tries: int = 60


def compose_crossing(seed: int, recipe: CrossingRecipe) -> Composed:
    """Make a puzzle that plain narrowing shows to have one answer. Raises ComposeError where no try led to one."""
    rng = random.Random(seed)
    for _ in range(recipe.tries):
        shape = pattern(recipe, rng)
        if max(len(run) for found in runs(shape) for run in found) <= DIGITS and (made := _filled(shape, rng)):
            return made
    raise ComposeError(f"no puzzle in {recipe.tries} tries: allow shorter runs or more black squares")


def _filled(shape: Shape, rng: random.Random) -> Composed | None:
    """Sums of digits in these cells, changed as long as that leaves less open; None where it leaves something."""
    bare, through = _laid(shape)
    answer = random_answer(bare, rng)
    assert answer is not None, "runs of nine cells or fewer can be filled"
    left, idle = _left(bare, answer), 0
    while any(left) and idle < _PATIENCE:
        open_ = [cell for cell, more in zip(shape.cells, left, strict=True) if more]
        changed = _changed(bare, answer, through, open_, rng)
        after = left if changed is None else _left(bare, changed)
        idle = 0 if sum(after) < sum(left) else idle + 1
        if changed is not None and sum(after) <= sum(left):
            answer, left = changed, after
    return None if any(left) else Composed(_summed(shape, answer), answer)


def harden_crossing(composed: Composed, seed: int, *, changes: int = 200) -> Composed:
    """Try changes of digits, and take those that leave one answer, and as much open to narrowing or more."""
    shape, rng = composed.puzzle.shape, random.Random(seed)
    assert shape is not None, "crossing sums have a shape"
    bare, through = _laid(shape)
    answer, left = composed.answer, sum(_left(bare, composed.answer))
    for _ in range(changes):
        changed = _changed(bare, answer, through, shape.cells, rng)
        more = -1 if changed is None else sum(_left(bare, changed))
        if changed is not None and more >= left and (
                solve(_summed(shape, changed), nodes=MOST_NODES).outcome is Outcome.SOUND):
            answer, left = changed, more
    return Composed(_summed(shape, answer), answer)


def _laid(shape: Shape) -> tuple[Puzzle, dict[Cell, list[Run]]]:
    """The runs of a shape without sums, and those through each cell."""
    across, down = runs(shape)
    through: dict[Cell, list[Run]] = {cell: [] for cell in shape.cells}
    for run in (*across, *down):
        for cell in run:
            through[cell].append(run)
    return Puzzle(DIGITS, (), tuple(Cage(run, None) for run in (*across, *down)), shape=shape), through


def pattern(recipe: CrossingRecipe, rng: random.Random) -> Shape:
    """Cells that hang together, each in a run of two or more both across and down, the same turned by half."""
    rows, columns = recipe.rows, recipe.columns
    white = {Cell(row, col) for row in range(1, rows + 1) for col in range(1, columns + 1)}
    shuffled = sorted((rng.random(), cell) for cell in sorted(white))
    wanted = (1 - recipe.black) * len(white)
    for last in (False, True, True):
        for _, cell in shuffled:
            much = len(white) > wanted if not last else max(_lengths(cell, white)) > recipe.longest
            if cell in white and much:
                gone = {cell, Cell(rows + 1 - cell.row, columns + 1 - cell.col)}
                rest = white - gone
                near = {other for one in gone for other in one.neighbours()} & rest
                if all(min(_lengths(other, rest)) > 1 for other in near) and connected(sorted(rest)):
                    white = rest
    return Shape(rows, columns, tuple(sorted(white)))


def _lengths(cell: Cell, white: set[Cell]) -> tuple[int, int]:
    """The cells of the two runs through a cell: across and down; 0 where it is black."""
    def along(down: int, right: int) -> int:
        found, (row, col) = 0, cell
        while (row + down, col + right) in white:
            found, row, col = found + 1, row + down, col + right
        return found

    here = cell in white
    return (here + along(0, 1) + along(0, -1), here + along(1, 0) + along(-1, 0)) if here else (0, 0)


def _summed(shape: Shape, answer: Answer) -> Puzzle:
    """The puzzle of the sums that an answer makes."""
    across, down = ([sum(map(answer.at, run)) for run in found] for found in runs(shape))
    return crossing_sums(shape, across, down)


def _left(bare: Puzzle, answer: Answer) -> Sequence[int]:
    """How many digits besides its own narrowing leaves each cell of the puzzle that an answer makes."""
    assert bare.shape is not None
    kernel = lower(_summed(bare.shape, answer))
    grid = propagate(kernel, kernel.grid, None)
    return [mask.bit_count() - 1 for mask in kernel.ground.fields.masks(grid)]


def _changed(
    bare: Puzzle, answer: Answer, through: dict[Cell, list[Run]], open_: Sequence[Cell], rng: random.Random,
) -> Answer | None:
    """The answer with another digit in one of these cells, or with two digits of a run swapped; None where that is
    no answer.
    """
    digits = {cell: answer.at(cell) for cell in bare.cells}
    cell = open_[int(rng.random() * len(open_))]
    if rng.random() < _SWAPS:
        run = through[cell][int(rng.random() * len(through[cell]))]
        other = run[int(rng.random() * len(run))]
        digits[cell], digits[other] = digits[other], digits[cell]
    else:
        used = {digits[near] for run in through[cell] for near in run}
        free = [digit for digit in range(1, DIGITS + 1) if digit not in used]
        if not free:
            return None
        digits[cell], other = free[int(rng.random() * len(free))], cell
    changed: Iterator[Run] = (run for one in (cell, other) for run in through[one])
    if any(len({digits[near] for near in run}) < len(run) for run in changed):
        return None
    return bare.answer([digits[cell] for cell in bare.cells])
