"""The ways in which cells can still make a sum: why a step strikes by it what no two of them show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import combinations, product
from math import prod

from cagework.solver.combine import mask_of
from cagework.solver.model import Cell, Puzzle
from cagework.solver.reasoning.reason import Path, Stage
from cagework.solver.step import Digits, Step
from cagework.typeset.solving.worked import Moment, moments
from cagework.typeset.words.sentences import WAYS_BY_NOW

_FEWEST, _MOST_CELLS = 3, 5
"""Of two cells each shows what the other can be; more than five have many ways."""

_MOST_WAYS, _MOST_TRIED = 5, 10_000


def with_ways(path: Path, noted: Path, numbers: Iterable[int]) -> Path:
    """A path as it is told, with the ways of each sum of a few cells by which one of these stages strikes digits,
    where a reader who strikes what is `noted` has few left.
    """
    known = moments(noted, [number for number in numbers if _strikes_by_sum(path.stages[number].step)])
    return replace(path, stages=tuple([
        _with(stage, path.puzzle, known[number]) if number in known else stage
        for number, stage in enumerate(path.stages)]))


def _strikes_by_sum(step: Step) -> bool:
    """Whether a step strikes digits of cells that make so much, or so much more than others."""
    return isinstance(step.why.get("sum"), int) and {cell for cell, _ in step.removes} <= set(_cells(step)) and (
        bool(step.removes) and _FEWEST <= len(_cells(step)) <= _MOST_CELLS)


def _cells(step: Step) -> tuple[Cell, ...]:
    """The cells of a sum, those that are taken away last."""
    return (*_side(step, "greater"), *_side(step, "lesser"))


def _side(step: Step, name: str) -> tuple[Cell, ...]:
    cells = step.why.get(name)
    return tuple([cell for cell in cells if isinstance(cell, Cell)]) if isinstance(cells, tuple) else ()


def _with(stage: Stage, puzzle: Puzzle, now: Moment) -> Stage:
    """A stage with its ways, if they are few, have each digit once on a side, and bear out what it strikes."""
    step, cells = stage.step, _cells(stage.step)
    made = list(_made(step, cells, puzzle, now))
    count = len(_side(step, "greater"))
    ways = {(frozenset(digits[:count]), frozenset(digits[count:])) for digits in made}
    held = [{digits[at] for digits in made} for at in range(len(cells))]
    borne_out = all(held[cells.index(cell)].isdisjoint(Digits(mask)) for cell, mask in step.removes)
    if not 0 < len(ways) <= _MOST_WAYS or not borne_out or any(
            len(plus) + len(minus) < len(cells) for plus, minus in ways):
        return stage
    told = tuple([(_digits(plus), _digits(minus)) for plus, minus in sorted(
        ways, key=lambda way: (sorted(way[0]), sorted(way[1])))])
    return replace(stage, step=replace(step, why=step.why | {WAYS_BY_NOW: told}))


def _made(step: Step, cells: tuple[Cell, ...], puzzle: Puzzle, now: Moment) -> Iterator[tuple[int, ...]]:
    """The digits that these cells can still be to make the sum; none where there are too many to try."""
    choices = [tuple(Digits(now.candidates[puzzle.cells.index(cell)])) for cell in cells]
    if prod(map(len, choices)) > _MOST_TRIED:
        return
    groups = [set(cells_of) for cells_of in (*(house.cells for house in puzzle.houses),
                                             *(cage.cells for cage in puzzle.cages))]
    apart = [(one, other) for one, other in combinations(range(len(cells)), 2)
             if any({cells[one], cells[other]} <= group for group in groups)]
    count = len(_side(step, "greater"))
    before = (puzzle.least - 1) * (2 * count - len(cells))
    for digits in product(*choices):
        if sum(digits[:count]) - sum(digits[count:]) + before == step.why["sum"] and all(
                digits[one] != digits[other] for one, other in apart):
            yield digits


def _digits(some: frozenset[int]) -> Digits:
    return Digits(mask_of(tuple(some)))
