"""What must stand in a grid: from the puzzle and its answer, never from what was drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cagework.solver.figure import Stroke, Tint
from cagework.solver.model import Answer, Cell, Puzzle
from cagework.solver.recheck import obeys
from cagework.solver.step import Digits
from cagework.typeset.book import Entry
from cagework.typeset.draw.shown import GridKind, Shown


@dataclass(frozen=True, slots=True)
class Expected:
    """What one grid must show and, by being empty, must not.

    `sums` and `digits` are by cell; `small` the cells that may carry small figures, each with the digits that must
    be among them. `fenced` says that cages have outlines, otherwise tints tell them apart; `tinted` are the cells
    a rule tints, None where other things are tinted, too; `ruled` are a rule's lines, in cells from the corner.
    """

    puzzle: Puzzle
    answer: Answer
    sums: Mapping[Cell, int]
    digits: Mapping[Cell, int]
    small: Mapping[Cell, frozenset[int]]
    fenced: bool
    tinted: frozenset[Cell] | None
    ruled: tuple[tuple[tuple[float, float], tuple[float, float]], ...]


class NoAnswer(Exception):  # noqa: N818 - it says what is missing
    """A grid that has nothing to be held against. The text says of which puzzle."""


def expected_of(shown: Shown, entries: Mapping[str, Entry], answers: Mapping[str, Answer]) -> Expected:
    """What a grid must show. NoAnswer where the book has no such puzzle, or its answer does not obey it."""
    entry = entries.get(shown.id) if shown.in_book else None
    if shown.in_book and entry is None:
        raise NoAnswer(f"the book has no puzzle '{shown.id}'")
    puzzle = entry.puzzle if entry else shown.puzzle
    answer = answers.get(shown.id) if shown.in_book else shown.answer
    if answer is None or not obeys(puzzle, answer):
        raise NoAnswer(f"the answer of '{shown.id}' is not one of its puzzle")
    rules = entry.rules if entry else ()
    figures = [figure for rule in rules for figure in rule.figures()]
    ruled = tuple(line for figure in figures if isinstance(figure, Stroke)
                  for line in zip(figure.points, figure.points[1:], strict=False))
    tinted = frozenset(cell for figure in figures if isinstance(figure, Tint) for cell in figure.cells)
    sums = {cage.first: cage.total for cage in puzzle.cages if cage.total is not None}
    givens = {given.cell: given.digit for given in puzzle.givens}
    match shown.kind:
        case GridKind.PUZZLE:
            return Expected(puzzle, answer, sums, givens, {}, True, tinted, ruled)
        case GridKind.ANSWER:
            digits = dict(zip(puzzle.cells, answer.digits, strict=True))
            return Expected(puzzle, answer, {}, digits, {}, False, None, ruled)
    known, small = _moment(shown, puzzle, answer)
    return Expected(puzzle, answer, sums, givens | known, small, True, None, ruled)


def _moment(shown: Shown, puzzle: Puzzle, answer: Answer) -> tuple[dict[Cell, int], dict[Cell, frozenset[int]]]:
    """The digits found by the end of a stage, by the answer; and the cells it looks at, where small figures may
    stand: the answer's digit among them, and those it strikes.
    """
    assert shown.worked is not None, "a diagram is of a path"
    stages = shown.worked.path.stages[:shown.stage + 1]
    found = {cell for stage in stages for cell, _ in stage.step.places}
    step = stages[-1].step
    struck = {cell: set(Digits(mask)) for cell, mask in step.removes}
    small = {cell: frozenset({answer.at(cell)} | struck.get(cell, set()))
             for cell in {*step.cites.cells, *struck} - found - {given.cell for given in puzzle.givens}}
    return {cell: answer.at(cell) for cell in found}, small
