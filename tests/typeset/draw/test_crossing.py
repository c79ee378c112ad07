"""Crossing sums drawn: sums clear of all lines on their sides of the diagonals, black squares where no cell is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree

import pypdfium2
import pytest
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cagework.layouts.load import shelf_layout, shelf_names
from cagework.solver.crossing import crossing_sums, runs
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Answer, Cell, Given, Puzzle, Shape
from cagework.typeset.draw.artwork import draw_artwork
from cagework.typeset.draw.crossing import least_square
from cagework.typeset.draw.describe import describe_grid
from cagework.typeset.draw.grid import draw_grid
from cagework.typeset.draw.labels import sums_have_room
from cagework.typeset.draw.look import GridLook, answer_look, puzzle_look
from cagework.typeset.draw.second_ink import in_second_ink
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.entry import Entry, Place
from cagework.typeset.marks import MM, Fill, Group, Line, Mark, Outline, Page, Text, flatten, groups
from cagework.typeset.spot import SpotInk
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import languages, load_words
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.pdf import About, pdf_bytes
from cagework.typeset.write.single import grid_svg

EDGE = 20.0
"""White round a grid, in pt."""

CLEAR = 0.25
"""Sums are at least as far from the edge of a line, in pt."""


def solid(rows: int, columns: int, top: int = 0, left: int = 0) -> Puzzle:
    """White squares in full rows, after so many black rows and columns; every run has the sum 45, or 44."""
    white = tuple(Cell(row, col) for row in range(top + 1, rows + 1) for col in range(left + 1, columns + 1))
    shape = Shape(rows, columns, white)
    across, down = runs(shape)
    return crossing_sums(shape, [45] * len(across), [44] * len(down))


def drawn(puzzle: Puzzle, look: GridLook, fonts: Fonts, answer: Answer | None = None) -> Group:
    return draw_grid(puzzle, (), look, fonts, EDGE, EDGE, answer)


def letters(mark: Mark, width: float, height: float, fonts: Fonts) -> list[BaseGeometry]:
    """The boxes that letters ink, by pdfium."""
    data = pdf_bytes((Page(width, height, (mark,)),), (), About("T", "", "", "en"), fonts)
    text = pypdfium2.PdfDocument(data)[0].get_textpage()
    boxes = [text.get_charbox(index) for index in range(text.count_chars())
             if text.get_text_range(index, 1).strip()]
    return [box(left, height - top, right, height - low) for left, low, right, top in boxes]


def lines_of(marks: Sequence[Mark]) -> Iterator[BaseGeometry]:
    for mark in flatten(marks):
        if isinstance(mark, Line):
            yield LineString([mark[:2], mark[2:4]]).buffer(mark.weight / 2, cap_style="flat")
        elif isinstance(mark, Outline):
            yield LineString([*mark.rings[0], mark.rings[0][0]]).buffer(mark.weight / 2, join_style="mitre")


@pytest.mark.parametrize("name", shelf_names())
@pytest.mark.parametrize("times", [1.0, 1.4, 3.0])
def test_sums_are_clear_of_lines_and_on_tints(times: float, name: str) -> None:
    """In the smallest squares that a layout says hold them, and in larger ones."""
    layout, puzzle = shelf_layout(name), solid(4, 5)
    fonts = Fonts(layout)
    cell = times * (least_square(puzzle_look(layout, 14.0), fonts) + 1e-6)
    look = puzzle_look(layout, cell)
    assert sums_have_room(puzzle, look, fonts)
    grid = drawn(puzzle, look, fonts)
    width, height = 6 * cell + 2 * EDGE, 5 * cell + 2 * EDGE
    boxes = letters(grid, width, height, fonts)
    assert len(boxes) == 2 * (4 + 5)
    assert all(mark.size >= layout.type.label for mark in flatten([grid]) if isinstance(mark, Text))
    inked = unary_union(list(lines_of([grid])))
    assert min(inked.distance(one) for one in boxes) >= CLEAR
    dark = unary_union([Polygon(mark.rings[0]) for mark in flatten([grid])
                        if isinstance(mark, Fill) and mark.ink > 0.35])
    assert min(dark.distance(one) for one in boxes) >= CLEAR


def test_smaller_squares_have_no_room(fonts: Fonts) -> None:
    layout, puzzle = shelf_layout("a5-one-up"), solid(3, 3)
    look = puzzle_look(layout, least_square(puzzle_look(layout, 14.0), fonts) - 0.05)
    assert not sums_have_room(puzzle, look, fonts)


@pytest.mark.parametrize("recipe", [CrossingRecipe(6, 9), CrossingRecipe(9, 5), CrossingRecipe(12, 12)])
def test_squares_are_black_but_cells_and_halves_with_sums(recipe: CrossingRecipe, fonts: Fonts) -> None:
    """Looked at in two points of each square, and counted over the frame; of an answer, as the map has them."""
    made = compose_crossing(1, recipe)
    assert made.puzzle.shape is not None
    for summed in (True, False):
        layout = shelf_layout("a4-two-up")
        look = puzzle_look(layout, 20.0) if summed else answer_look(layout, 20.0)
        grid = drawn(made.puzzle, look, fonts, None if summed else made.answer)
        fills = [(Polygon(mark.rings[0]), mark.ink) for mark in flatten([grid]) if isinstance(mark, Fill)]
        before = {(way, cage.first.row - (way == "down"), cage.first.col - (way == "across"))
                  for found, way in zip(runs(made.puzzle.shape), ("across", "down"), strict=True) for run in found
                  for cage in made.puzzle.cages if cage.cells == run} if summed else set()
        frame = next(mark for mark in flatten([grid]) if isinstance(mark, Outline)).rings[0]
        first = 0 if summed else 1
        assert frame[2] == pytest.approx((EDGE + (made.puzzle.columns + 1 - first) * 20.0,
                                          EDGE + (made.puzzle.rows + 1 - first) * 20.0))
        for row in range(first, made.puzzle.rows + 1):
            for col in range(first, made.puzzle.columns + 1):
                for way, x, y in (("across", 0.7, 0.3), ("down", 0.3, 0.7)):
                    at = Point(EDGE + (col - first + x) * 20.0, EDGE + (row - first + y) * 20.0)
                    inks = [ink for shape, ink in fills if shape.contains(at)]
                    due = [] if (row, col) in made.puzzle.cells else [0.2 if (way, row, col) in before else 1.0]
                    assert inks == due, (way, row, col)


@pytest.mark.parametrize(("top", "left"), [(0, 0), (1, 0), (0, 1), (1, 1)])
def test_squares_are_added_only_where_the_map_has_none_before_runs(top: int, left: int) -> None:
    squares = squares_of(solid(5, 6, top, left))
    assert (squares.top, squares.left, squares.bottom, squares.right) == (top, left, 5, 6)
    assert (squares.down, squares.across) == (6 - top, 7 - left)
    bare = squares_of(solid(5, 6, top, left), summed=False)
    assert (bare.down, bare.across) == (5, 6)


@pytest.mark.parametrize("language", languages())
def test_in_words_rows_are_told_square_by_square_and_sums_by_run(language: str) -> None:
    """Read back by words of colour and figures alone."""
    made = compose_crossing(5, CrossingRecipe(6, 7))
    puzzle, words, sentences = made.puzzle, load_words(language).described, Sentences(language)
    said = describe_grid(puzzle, words, sentences)
    rows = [part.split(": ")[1] for part in said.split(".")[1:7]]
    assert rows == [" ".join(words.white if (row, col) in puzzle.cells else words.black for col in range(1, 8))
                    for row in range(1, 7)]
    down = said.split(".")[8]
    assert down.count(";") + 1 == sum(cage.cells[0].col == cage.cells[1].col for cage in puzzle.cages)
    for cage in puzzle.cages:
        assert words.cage.format(sum=cage.total, cells=" ".join(map(sentences.cell, cage.cells))) in said
    answer = describe_grid(puzzle, words, sentences, made.answer)
    told = [part.split(": ")[1].split() for part in answer.split(".")[1:7]]
    digits = [words.black if digit < 0 else str(digit) for digit in made.answer.digits]
    assert told == [digits[at:at + 7] for at in range(0, len(digits), 7)]


def test_a_given_stands_in_the_middle_of_its_cell(fonts: Fonts) -> None:
    """Though a run begins there: its sum is before it."""
    puzzle = replace(solid(2, 2), givens=(Given(Cell(1, 1), 8),))
    grid = drawn(puzzle, puzzle_look(shelf_layout("a4-two-up"), 20.0), fonts)
    (given,) = (group for group in groups([grid]) if group.name == "givens")
    (digit,) = letters(given, 200, 200, fonts)
    middle = EDGE + 1.5 * 20.0
    assert (digit.centroid.x, digit.centroid.y) == pytest.approx((middle, middle), abs=0.5)


def test_a_single_file_is_as_wide_and_high_as_its_frame(fonts: Fonts) -> None:
    """Of a puzzle with a row and a column more than of its answer, and 3 mm of white round both."""
    made = compose_crossing(1, CrossingRecipe(6, 9))
    entry = Entry("wide", None, None, None, None, made.puzzle, (), Place(Path("x.yaml"), 1, 1))
    layout = shelf_layout("a4-two-up")
    for look, answer, more in ((puzzle_look(layout, 20.0), None, 1), (answer_look(layout, 20.0), made.answer, 0)):
        root = ElementTree.fromstring(grid_svg(entry, look, fonts, "", answer))
        box = [float(part) for part in root.attrib["viewBox"].split()]
        assert box == pytest.approx([0, 0, (9 + more) * 20 + 6 * MM, (6 + more) * 20 + 6 * MM], abs=0.01)


def test_squares_are_in_the_second_ink_and_sums_are_not(fonts: Fonts) -> None:
    layout, ink = shelf_layout("a4-two-up"), SpotInk("Slate", (60.0, 40.0, 30.0, 10.0))
    setting: Any = SimpleNamespace(book=SimpleNamespace(ink=ink), layout=layout)
    grid = drawn(solid(3, 4), puzzle_look(layout, 20.0), fonts)
    marks = list(flatten(in_second_ink(setting, [grid])))
    assert {mark.spot for mark in marks if isinstance(mark, Fill)} == {ink}
    assert {mark.spot for mark in marks if isinstance(mark, Text)} == {None}


@pytest.mark.parametrize("ground", [0.1, 1.0])
def test_on_a_cover_they_are_white_within_the_square_they_have(ground: float, fonts: Fonts) -> None:
    made = compose_crossing(1, CrossingRecipe(6, 9))
    art = draw_artwork(made.puzzle, 200.0, ground, fonts, EDGE, EDGE)
    first, *rest = flatten([art])
    assert isinstance(first, Fill) and first.ink == 0.0
    assert first.rings[0][2] == pytest.approx((EDGE + 200.0, EDGE + 140.0))
    assert not any(isinstance(mark, Outline) and mark.dash for mark in rest)
    assert sorted(mark.string for mark in rest if isinstance(mark, Text)) == sorted(
        str(cage.total) for cage in made.puzzle.cages)
