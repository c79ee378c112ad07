"""A puzzle, or its answer, as one picture."""

from __future__ import annotations

from cagework.layouts.load import shelf_layout, shelf_names
from cagework.solver.errors import PuzzleError
from cagework.solver.model import Answer, Puzzle
from cagework.typeset.draw.describe import describe
from cagework.typeset.draw.look import LEAST_CELL, answer_look, puzzle_look
from cagework.typeset.entry import Entry
from cagework.typeset.faults import ChoiceError
from cagework.typeset.library.asked import chosen, entry_of
from cagework.typeset.marks import MM
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import languages, words_or_english
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.single import grid_svg

_LARGEST = 100.0
"""A cell of more mm is a slip: twenty of them are two metres."""


def draw(
    puzzle: Entry | Puzzle,
    answer: Answer | None = None,
    *,
    layout: str = "a5-one-up",
    cell: float | None = None,
    language: str = "en",
) -> str:
    """Return the puzzle as the text of an SVG file, or where an answer is given that one, without the sums.

    Lines and digits are those of a `layout` that comes with cagework. A cell is `cell` mm wide, or as wide as the
    layout has it at most; round the grid are 3 mm of white. Digits are drawn as outlines: no font is needed to
    see them. What the picture shows is said in the file in the words of a language (`en`, `de`).

    Raises PuzzleError where it cannot be a puzzle or the answer is of another grid, ChoiceError for a layout, a
    language or a cell that there is not.
    """
    entry = entry_of(puzzle)
    design = shelf_layout(chosen(layout, shelf_names(), "layout"))
    side = design.puzzles.cell if cell is None else cell
    if not LEAST_CELL <= side <= _LARGEST:
        raise ChoiceError(f"a cell is {LEAST_CELL:g} to {_LARGEST:g} mm wide, not {side:g}")
    if answer is not None:
        _check_answer(entry.puzzle, answer)
    look = puzzle_look(design, side * MM) if answer is None else answer_look(design, side * MM)
    words = words_or_english(chosen(language, languages(), "language")).described
    return grid_svg(entry, look, Fonts(design), describe(entry, words, Sentences(language), answer), answer)


def _check_answer(puzzle: Puzzle, answer: Answer) -> None:
    """Raise PuzzleError where a digit is missing or is none of the puzzle's."""
    if (answer.columns, len(answer.digits)) != (puzzle.columns, puzzle.rows * puzzle.columns):
        raise PuzzleError(f"the answer has {len(answer.digits)} digits, {answer.columns} to a row; the puzzle is "
                          f"{puzzle.rows} x {puzzle.columns}")
    for cell in puzzle.cells:
        if answer.at(cell) not in puzzle.digits:
            raise PuzzleError(f"the answer's {answer.at(cell)} in {cell} is no digit from {puzzle.least} to "
                              f"{puzzle.digits[-1]}")
