"""What is shown of a thing at a Python prompt fits a few lines, and changes nothing else of it."""

from __future__ import annotations

import dataclasses
import pickle
from pathlib import Path

import pytest

import cagework
from cagework import Answer, Cage, Cell
from cagework.layouts.load import shelf_layout, shelf_names
from cagework.solver.model import Shape
from cagework.typeset.examples import worked_example
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.explained import explanation
from cagework.typeset.solving.record import puzzle_key
from cagework.typeset.words.sentences import Sentences

LINE, SCREEN = 160, 24 * 80
"""Characters: a wide line, and a terminal of 24 lines of 80, as the first video terminals had them."""


@pytest.mark.parametrize("book", ["slow-train", "clear-skies"])
def test_books_puzzles_and_their_parts_are_shown_in_a_line(root: Path, book: str) -> None:
    reading = load_book(root / "books" / book / "book.yaml")
    assert reading.book is not None
    puzzles = [entry.puzzle for entry in reading.book.entries]
    things: list[object] = [
        reading, reading.book, *reading.book.sections, *reading.book.text_pages, *reading.puzzles,
        *reading.book.entries, *puzzles, *(one.shape for one in puzzles),
        *(part for one in puzzles for part in (*one.houses, *one.cages)), *map(shelf_layout, shelf_names())]
    assert {repr(one) for one in things if len(repr(one)) > LINE or "\n" in repr(one)} == set()
    for one in puzzles:
        again = pickle.loads(pickle.dumps(one))
        assert (again, hash(again), puzzle_key(again)) == (one, hash(one), puzzle_key(one))


@pytest.mark.parametrize("technique", ["hidden_quad", "wide_innies_less_outies", "what_if", "trial"])
def test_what_is_found_of_a_puzzle_is_shown_on_a_screen(technique: str) -> None:
    """The example of a technique: its steps, the deepest of them with an argument of its own."""
    example = worked_example(technique)
    assert example is not None
    told = explanation(example.worked, Sentences("en"), example.answer)
    assert len(repr(told.path)) <= LINE and len(repr(told)) <= LINE
    for step, stage in zip(told.steps, told.path.stages, strict=True):
        assert len(repr(stage.step)) <= LINE and len(repr(stage.step.cites)) <= LINE
        assert len(repr(stage)) <= SCREEN and len(repr(step)) <= SCREEN
    assert pickle.loads(pickle.dumps(told.path)) == told.path
    assert len(repr(cagework.solve(example.worked.entry))) <= SCREEN


PUZZLE = cagework.make_puzzle(4, {"r1c1 r1c2": 7, "r1c3-r3c3": 6}, rules=["diagonals"], title="Ebb").puzzle


@pytest.mark.parametrize(("thing", "shown"), [
    (PUZZLE, "Puzzle(4 x 4, 14 houses, 2 cages)"),
    (PUZZLE.houses[0], "House(row 1: r1c1 r1c2 r1c3 r1c4)"),
    (PUZZLE.cages[0], "Cage(7: r1c1 r1c2)"),
    (Cage(tuple(Cell(1, col) for col in range(1, 12)), None),
     "Cage(None: r1c1 r1c2 r1c3 r1c4 r1c5 r1c6 r1c7 r1c8 r1c9 …)"),
    (Shape(12, 10, (Cell(1, 1),)), "Shape(12 x 10, 1 cells)"),
    (Answer(4, tuple(map(int, "3241143241232314"))), "Answer(4 x 4, 3241143241232314)"),
    (Answer(16, (16,) * 256), f"Answer(16 x 16, {'G' * 81}…)"),
    (shelf_layout("a5-one-up"), "Layout('a5-one-up', 148 x 210 mm)"),
])
def test_the_main_things_are_shown_by_what_a_setter_asks_first(thing: object, shown: str) -> None:
    assert repr(thing) == shown


def test_what_two_things_differ_in_still_makes_them_differ() -> None:
    """They are shown alike, and are not the same."""
    other = dataclasses.replace(PUZZLE, cages=(Cage(PUZZLE.cages[0].cells, 6), *PUZZLE.cages[1:]))
    assert repr(other) == repr(PUZZLE)
    assert other != PUZZLE and hash(other) != hash(PUZZLE) and len({other, PUZZLE}) == 2
