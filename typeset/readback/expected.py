"""What must stand in a grid: from the puzzle and its answer, never from what was drawn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from cagework.layouts.load import Layout
from cagework.solver.figure import Clue, Spot, Stroke, Tint, in_answer, in_puzzle, is_tinted
from cagework.solver.model import Answer, Cell, Puzzle, Sum
from cagework.solver.recheck import obeys
from cagework.solver.step import Digits, Step
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.entry import Entry
from cagework.typeset.solving.story import LETTERS, Wish, letters_of


@dataclass(frozen=True, slots=True)
class Expected:
    """What one grid must show and, by being empty, must not.

    `sums` and `digits` are by cell, which leaves out the sums of runs; `small` the cells that may carry notes,
    each with the digits that must be among them, and `lettered` the cells that may say which step concludes
    something of them. `fenced` says that cages have outlines; `apart` are the cells of the cages or regions that
    tints tell apart, and where there are none `tinted` are the cells that have a tint of their own; `ruled` are a
    rule's lines, in cells from the corner, and `spots` its discs and squares. `bordered` are sets of cells with a
    heavier line round each; `clues` stand round the frame.
    """

    puzzle: Puzzle
    answer: Answer
    sums: Mapping[Cell, int]
    digits: Mapping[Cell, int]
    small: Mapping[Cell, frozenset[int]]
    fenced: bool
    apart: tuple[tuple[Cell, ...], ...]
    tinted: frozenset[Cell]
    ruled: tuple[tuple[tuple[float, float], tuple[float, float]], ...]
    lettered: Mapping[Cell, str]
    bordered: tuple[frozenset[Cell], ...]
    spots: tuple[Spot, ...]
    clues: tuple[Clue, ...] = ()


class NoAnswer(Exception):  # noqa: N818 - it says what is missing
    """A grid that has nothing to be held against. The text says of which puzzle."""


def expected_of(
    shown: Shown, entries: Mapping[str, Entry], answers: Mapping[str, Answer], layout: Layout,
) -> Expected:
    """What a grid must show; a puzzle, what its layout says of cages and crooked regions where no rule has tints.
    NoAnswer where the book has no such puzzle, or its answer does not obey it.
    """
    entry = entries.get(shown.id) if shown.in_book else None
    if shown.in_book and entry is None:
        raise NoAnswer(f"the book has no puzzle '{shown.id}'")
    puzzle = entry.puzzle if entry else shown.puzzle
    answer = answers.get(shown.id) if shown.in_book else shown.answer
    if answer is None or not obeys(puzzle, answer):
        raise NoAnswer(f"the answer of '{shown.id}' is not one of its puzzle")
    rules = entry.rules if entry else shown.rules
    figures = tuple(figure for rule in rules for figure in rule.figures())
    given = [one.cell for one in puzzle.givens]
    figures = in_answer(figures) if shown.kind is GridKind.ANSWER else in_puzzle(figures, given)
    spots = tuple(figure for figure in figures if isinstance(figure, Spot))
    ruled = tuple(line for figure in figures if isinstance(figure, Stroke)
                  for line in zip(figure.points, figure.points[1:], strict=False))
    tinted = frozenset(cell for figure in figures if isinstance(figure, Tint) for cell in figure.cells)
    caged = puzzle.shape is None
    sums = {cage.first: cage.total for cage in puzzle.cages if caged and cage.total is not None}
    givens = {given.cell: given.digit for given in puzzle.givens}
    cages = tuple(cage.cells for cage in puzzle.cages if caged)
    match shown.kind:
        case GridKind.PUZZLE:
            bare = not set(puzzle.cells).issubset(cell for cells in cages for cell in cells)
            fenced = caged and (layout.cages != "tinted" or is_tinted(figures) or bare)
            apart = cages if layout.cages != "dashed" else puzzle.own_regions if layout.regions == "tints" else ()
            apart = () if is_tinted(figures) else apart
            clues = tuple(figure for figure in figures if isinstance(figure, Clue))
            return Expected(puzzle, answer, sums, givens, {}, fenced, apart, tinted, ruled, {}, (), spots, clues)
        case GridKind.ANSWER:
            digits = {cell: answer.at(cell) for cell in puzzle.cells}
            return Expected(puzzle, answer, {}, digits, {}, False, cages, frozenset(), ruled, {}, (), spots)
    assert shown.worked is not None and shown.picture is not None, "a diagram is a picture of a path"
    path, picture = shown.worked.path, shown.picture
    found = {cell for stage in path.stages[:picture.last] for cell, _ in stage.step.places}
    steps = picture.steps(path)
    small = _small(puzzle, answer, steps, found | givens.keys(), picture.wish)
    known = {cell: answer.at(cell) for cell in found}
    told = _told(steps)
    return Expected(puzzle, answer, sums, givens | known, small, caged, (), tinted | told.keys(), ruled,
                    told if picture.lettered else {}, tuple(_bordered(steps)), spots)


def _small(
    puzzle: Puzzle, answer: Answer, steps: Sequence[Step], filled: AbstractSet[Cell], wish: Wish,
) -> dict[Cell, frozenset[int]]:
    """The cells where notes stand: the answer's digit is among them, and those that are struck."""
    struck: dict[Cell, set[int]] = {}
    for step in steps:
        for cell, mask in step.removes:
            struck.setdefault(cell, set()).update(puzzle.least - 1 + digit for digit in Digits(mask))
    cited = [cell for step in steps for cell in step.cites.cells]
    for value in (step.why.get(name) for step in steps for name in ("cells", "spots", "near", "far")):
        cited += [cell for cell in value if isinstance(cell, Cell)] if isinstance(value, tuple) else []
    cells = set(puzzle.cells) if wish is Wish.FULL_NOTES else {*struck, *cited}
    return {cell: frozenset({answer.at(cell)} | struck.get(cell, set())) for cell in cells - filled}


def _told(steps: Sequence[Step]) -> dict[Cell, str]:
    """The cells that steps conclude something of, with the letter, of a few, of the step that fills or first
    strikes them.
    """
    letters = letters_of(steps) if len(steps) <= len(LETTERS) else ("",) * len(steps)
    told: dict[Cell, str] = {}
    for letter, step in reversed(list(zip(letters, steps, strict=True))):
        told |= dict.fromkeys((cell for cell, _ in step.removes), letter)
    return told | {cell: letter for letter, step in zip(letters, steps, strict=True) for cell, _ in step.places}


def _bordered(steps: Sequence[Step]) -> Iterator[frozenset[Cell]]:
    """The houses and areas of runs that steps rest on, those together whose totals are added up; a trial rests on
    none.
    """
    for step in steps:
        if step.is_trial:
            continue
        for added in (step.cites.added, step.cites.added_too):
            yield frozenset(cell for one in added if not isinstance(one, Sum) for cell in one.cells)
        yield from (frozenset(one.cells) for one in step.cites.reckoned if isinstance(one, Sum))
        summed = [one.cells for one in step.cites.reckoned]
        yield from (frozenset(house.cells) for house in step.cites.houses if house.cells not in summed)
