"""Crossing sums: cells among black squares, whose runs across and down have a sum each and hold no digit twice."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from itertools import groupby

from cagework.solver.model import Cage, Cell, Puzzle, Shape

DIGITS = 9
"""The greatest digit, and so the most cells of a run."""

Run = tuple[Cell, ...]

WAYS = ("across", "down")
"""What the ways of runs are called, in the order of `runs`."""


def runs(shape: Shape) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
    """The runs of two cells or more: those across, row by row, and those down, column by column."""
    white, rows, columns = set(shape.cells), range(1, shape.rows + 1), range(1, shape.columns + 1)
    across = [run for row in rows for run in _runs([Cell(row, col) for col in columns], white)]
    down = [run for col in columns for run in _runs([Cell(row, col) for row in rows], white)]
    return tuple(across), tuple(down)


def _runs(line: Sequence[Cell], white: Container[Cell]) -> Iterator[Run]:
    """Runs of two or more white squares of a line."""
    for is_white, squares in groupby(line, key=lambda cell: cell in white):
        run = tuple(squares)
        if is_white and len(run) > 1:
            yield run


def is_across(run: Run) -> bool:
    """Whether a run of two cells or more lies across, and not down."""
    return run[0].row == run[1].row


def way_of(run: Run) -> str:
    """What the way of a run is called."""
    return WAYS[0 if is_across(run) else 1]


def crossing_sums(shape: Shape, across: Sequence[int | None], down: Sequence[int | None]) -> Puzzle:
    """The puzzle of these sums, which stand in the order of `runs`; None where one is not known. ValueError where
    they are more or fewer.
    """
    cages = [Cage(run, total) for found, sums in zip(runs(shape), (across, down), strict=True)
             for run, total in zip(found, sums, strict=True)]
    return Puzzle(DIGITS, (), tuple(cages), shape=shape)
