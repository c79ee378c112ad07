"""Crossing sums read back: a book of them is as it should be, and each error planted on a page is told."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

import pytest
import yaml

from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Fill, Group, Line, Mark, Page, Text
from cagework.typeset.readback.expected import Expected
from cagework.typeset.readback.grid_area import GridArea
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.squares import compare_squares
from cagework.typeset.write.pdf import pdf_bytes

MADE = {name: compose_crossing(seed, recipe) for name, seed, recipe in (
    ("low", 2, CrossingRecipe(6, 9)), ("high", 3, CrossingRecipe(9, 6)), ("square", 4, CrossingRecipe(7, 7)))}
Change = Callable[[Mark, GridPlace], Iterable[Mark]]


@pytest.fixture(scope="module", params=["back", "page"])
def book(request: Any, tmp_path_factory: pytest.TempPathFactory, finish: Any, crossing_part: Any) -> Any:
    """Three of them, one wide, one high, with worked solutions and with answers at the back, or upside down."""
    manifest = tmp_path_factory.mktemp("crossing") / "book.yaml"
    manifest.write_text(yaml.safe_dump({
        "book": {"title": "Weather Map", "layout": "a4-two-up", "answers": request.param},
        "sections": [{"title": "Fronts", "solutions": "full", "puzzles": list(MADE)}],
        "puzzles": [crossing_part(made.puzzle, name) for name, made in MADE.items()]}), encoding="utf-8")
    reading = load_book(manifest)
    assert reading.book is not None, reading.faults
    return finish(reading, reading.book)


def test_a_book_of_them_is_as_it_should_be(book: Any) -> None:
    assert book.told(book.data) == []
    assert {place.shown.kind for place in book.places()} == set(GridKind)
    for name, made in MADE.items():
        place = book.grid(GridKind.PUZZLE, name)
        assert (place.width, place.height) == (pytest.approx(place.cell * (made.puzzle.columns + 1)),
                                               pytest.approx(place.cell * (made.puzzle.rows + 1)))


def spoil(book: Any, kind: GridKind, changes: Mapping[str, Change]) -> Mapping[str, list[str]]:
    """What is told of each of some puzzles' grids, some marks of which are others, or gone, in one file."""
    laid = book.original.laid

    def changed(mark: Mark, place: GridPlace, change: Change, within: bool) -> Iterable[Mark]:
        if isinstance(mark, Group):
            within = within or mark.shows == place.shown
            return [replace(mark, marks=tuple(
                new for one in mark.marks for new in changed(one, place, change, within)))]
        return change(mark, place) if within else [mark]

    pages = list(laid.pages)
    for name, change in changes.items():
        place = book.grid(kind, name)
        page: Page = pages[place.page - 1]
        pages[place.page - 1] = replace(page, marks=tuple(
            new for mark in page.marks for new in changed(mark, place, change, False)))
    told = book.told(pdf_bytes(pages, laid.bookmarks, about_of(laid.setting.book), laid.setting.fonts))
    return {name: [line for line in told if f"{kind}" in line and f"'{name}'" in line] for name in changes}


def is_at(mark: Mark, place: GridPlace, square: Cell) -> bool:
    """Whether a text or a fill lies in a square."""
    left, top = place.corner(square)
    if isinstance(mark, Text):
        return left < mark.x < left + place.cell and top < mark.y < top + place.cell + 0.01
    return isinstance(mark, Fill) and all(
        left - 0.01 < x < left + place.cell + 0.01 and top - 0.01 < y < top + place.cell + 0.01
        for x, y in mark.rings[0])


def said(mark: Mark, text: str) -> Mark:
    assert isinstance(mark, Text)
    return mark._replace(chunks=((0.0, text),))


def first_of(book: Any, name: str, level: bool) -> Cell:
    """The first cell of a run of the puzzle, across or down."""
    return next(cage.first for cage in MADE[name].puzzle.cages
                if (cage.cells[0].row == cage.cells[1].row) is level)


@pytest.mark.parametrize("kind", [GridKind.PUZZLE, GridKind.STAGE])
@pytest.mark.parametrize("level", [True, False])
def test_another_sum_is_told_at_its_run(level: bool, kind: GridKind, book: Any) -> None:
    wanted = {}

    def other(name: str) -> Change:
        first = first_of(book, name, level)
        before = Cell(first.row, first.col - 1) if level else Cell(first.row - 1, first.col)
        due = next(cage.total for cage in MADE[name].puzzle.cages
                   if cage.first == first and (cage.cells[0].row == cage.cells[1].row) is level)
        way = "across" if level else "down"
        wanted[name] = f"{first}: '{due + 1}' stands before its run {way} where the sum {due} should"
        return lambda mark, place: [said(mark, str(due + 1)) if is_at(mark, place, before)
                                    and isinstance(mark, Text) and mark.string == str(due) else mark]

    for name, lines in spoil(book, kind, {name: other(name) for name in MADE}).items():
        assert any(wanted[name] in line for line in lines), (name, lines)


def test_a_sum_that_has_no_square_in_the_frame_is_told(book: Any) -> None:
    """A frame without the squares before the map: which these are the puzzle says, not the drawing."""
    made, place = MADE["low"], book.grid(GridKind.PUZZLE, "low")
    narrow = replace(place, squares=squares_of(made.puzzle, summed=False))
    wanted = Expected(made.puzzle, made.answer, {}, {}, {}, False, (), frozenset(), (), {}, (), ())
    said = {(one.cell, one.message) for one in compare_squares(GridArea(narrow, (), (), {}), wanted)}
    edge = [cage for cage in made.puzzle.cages if 1 in cage.first]
    assert edge
    for cage in edge:
        way = "across" if cage.cells[0].row == cage.cells[1].row else "down"
        assert (cage.first, f"the sum {cage.total} does not stand before its run {way}") in said


def two_sums(name: str) -> tuple[Cell, str, str]:
    """A square before a run across and one down, and their sums."""
    sums: dict[Cell, dict[bool, str]] = {}
    for cage in MADE[name].puzzle.cages:
        level = cage.cells[0].row == cage.cells[1].row
        before = Cell(cage.first.row - (not level), cage.first.col - level)
        sums.setdefault(before, {})[level] = str(cage.total)
    return next((square, there[True], there[False]) for square, there in sums.items()
                if len(there) == 2 and there[True] != there[False])


def test_two_sums_swapped_over_their_diagonal_are_told(book: Any) -> None:
    def swapped(name: str) -> Change:
        square, across, down = two_sums(name)
        return lambda mark, place: [mark if not (is_at(mark, place, square) and isinstance(mark, Text))
                                    else said(mark, down if mark.string == across else across)]

    for name, lines in spoil(book, GridKind.PUZZLE, {name: swapped(name) for name in MADE}).items():
        _, across, down = two_sums(name)
        for way, due, stands in (("across", across, down), ("down", down, across)):
            said_so = f"'{stands}' stands before its run {way} where the sum {due} should"
            assert any(said_so in line for line in lines), (name, lines)


def test_a_diagonal_that_is_missing_is_told(book: Any) -> None:
    square, _, _ = two_sums("square")

    def change(mark: Mark, place: GridPlace) -> list[Mark]:
        left, top = place.corner(square)
        ends = left, top, left + place.cell, top + place.cell
        return [] if isinstance(mark, Line) and mark[:4] == pytest.approx(ends) else [mark]

    lines = spoil(book, GridKind.PUZZLE, {"square": change})["square"]
    assert [line for line in lines if f"{square}: no diagonal parts its two sums" in line]


@pytest.mark.parametrize("kind", GridKind)
def test_a_black_square_that_is_lost_is_told(kind: GridKind, book: Any) -> None:
    def lost(name: str) -> Cell:
        puzzle = MADE[name].puzzle
        before = {Cell(cage.first.row - down, cage.first.col + down - 1) for cage in puzzle.cages
                  for down in (0, 1)}
        return next(Cell(row, col) for row in range(1, puzzle.rows + 1) for col in range(1, puzzle.columns + 1)
                    if (row, col) not in puzzle.cells and (kind is GridKind.ANSWER or (row, col) not in before))

    def without(square: Cell) -> Change:
        return lambda mark, place: (
            [] if isinstance(mark, Fill) and is_at(mark, place, turned(place, square)) else [mark])

    for name, lines in spoil(book, kind, {name: without(lost(name)) for name in MADE}).items():
        assert any(f"{lost(name)}: a square is not black in which no cell is" in line for line in lines), lines


def turned(place: GridPlace, square: Cell) -> Cell:
    """Where a square of a grid that may be upside down lies on the page."""
    squares = place.squares
    return square if not place.shown.turned else Cell(
        squares.top + squares.bottom - square.row, squares.left + squares.right - square.col)


@pytest.mark.parametrize("kind", GridKind)
def test_a_white_square_that_is_black_is_told(kind: GridKind, book: Any) -> None:
    def middle(name: str) -> Cell:
        cells = MADE[name].puzzle.cells
        return cells[len(cells) // 2]

    def blackened(white: Cell) -> Change:
        seen = []

        def change(mark: Mark, place: GridPlace) -> list[Mark]:
            if isinstance(mark, Line) and not seen:     # over the other squares, under all figures
                seen.append(mark)
                left, top = place.corner(turned(place, white))
                right, low = left + place.cell, top + place.cell
                return [Fill((((left, top), (right, top), (right, low), (left, low)),), 1.0), mark]
            return [mark]

        return change

    for name, lines in spoil(book, kind, {name: blackened(middle(name)) for name in MADE}).items():
        assert any(f"{middle(name)}: it is black" in line for line in lines), lines


def test_another_digit_of_the_answer_is_told(book: Any) -> None:
    def last(name: str) -> tuple[Cell, int]:
        cell = MADE[name].puzzle.cells[-1]
        return cell, MADE[name].answer.at(cell)

    def other(name: str) -> Change:
        texts = iter(range(1, len(MADE[name].puzzle.cells) + 1))
        count, digit = len(MADE[name].puzzle.cells), last(name)[1]
        return lambda mark, _place: [said(mark, str(digit % 9 + 1))
                                     if isinstance(mark, Text) and next(texts, None) == count else mark]

    for name, lines in spoil(book, GridKind.ANSWER, {name: other(name) for name in MADE}).items():
        cell, digit = last(name)
        assert any(f"{cell}: '{digit % 9 + 1}' stands where the digit {digit} should" in line
                   for line in lines), lines


@pytest.mark.parametrize(("ink", "told"), [
    (1.0, "'{due}' stands in a black square where no sum should"), (0.0, "'{due}', white, stands"),
])
def test_a_figure_in_a_square_without_a_sum_is_told(ink: float, told: str, book: Any) -> None:
    """The first square of the frame, which is before no run. White figures can be read on black."""
    seen = [False]

    def change(mark: Mark, place: GridPlace) -> list[Mark]:
        if isinstance(mark, Text) and mark.string == due and not seen[0]:
            seen[0] = True
            left, top = place.corner(Cell(0, 0))
            return [mark, mark._replace(x=left + 0.5 * place.cell, y=top + 0.4 * place.cell, ink=ink)]
        return [mark]

    due = next(str(cage.total) for cage in MADE["low"].puzzle.cages)
    lines = spoil(book, GridKind.PUZZLE, {"low": change})["low"]
    assert any(told.format(due=due) in line for line in lines), lines
    assert not any("r0" in line for line in lines), "it has no name"
