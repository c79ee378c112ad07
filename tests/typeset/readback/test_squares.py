"""Crossing sums read back: a book of them is as it should be, and each error planted on a page is told."""

from __future__ import annotations

from collections.abc import Callable, Iterable
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


def spoil(book: Any, kind: GridKind, name: str, change: Change) -> list[str]:
    """What is told of a grid some marks of which are others, or gone."""
    place = book.grid(kind, name)
    laid = book.original.laid

    def changed(mark: Mark, within: bool) -> Iterable[Mark]:
        if isinstance(mark, Group):
            within = within or mark.shows == place.shown
            return [replace(mark, marks=tuple(new for one in mark.marks for new in changed(one, within)))]
        return change(mark, place) if within else [mark]

    pages = list(laid.pages)
    page: Page = pages[place.page - 1]
    pages[place.page - 1] = replace(page, marks=tuple(new for mark in page.marks for new in changed(mark, False)))
    data = pdf_bytes(pages, laid.bookmarks, about_of(laid.setting.book), laid.setting.fonts)
    return [line for line in book.told(data) if f"{kind}" in line and f"'{name}'" in line]


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
@pytest.mark.parametrize("name", MADE)
@pytest.mark.parametrize("level", [True, False])
def test_another_sum_is_told_at_its_run(level: bool, name: str, kind: GridKind, book: Any) -> None:
    first = first_of(book, name, level)
    before = Cell(first.row, first.col - 1) if level else Cell(first.row - 1, first.col)
    due = next(cage.total for cage in MADE[name].puzzle.cages
               if cage.first == first and (cage.cells[0].row == cage.cells[1].row) is level)

    def change(mark: Mark, place: GridPlace) -> list[Mark]:
        return [said(mark, str(due + 1)) if is_at(mark, place, before)
                and isinstance(mark, Text) and mark.string == str(due) else mark]

    way = "across" if level else "down"
    lines = spoil(book, kind, name, change)
    assert any(f"{first}: '{due + 1}' stands before its run {way} where the sum {due} should" in line
               for line in lines), lines


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


@pytest.mark.parametrize("name", MADE)
def test_two_sums_swapped_over_their_diagonal_are_told(name: str, book: Any) -> None:
    square, across, down = two_sums(name)

    def change(mark: Mark, place: GridPlace) -> list[Mark]:
        if not (is_at(mark, place, square) and isinstance(mark, Text)):
            return [mark]
        return [said(mark, down if mark.string == across else across)]

    lines = spoil(book, GridKind.PUZZLE, name, change)
    assert any(f"'{down}' stands before its run across where the sum {across} should" in line for line in lines)
    assert any(f"'{across}' stands before its run down where the sum {down} should" in line for line in lines)


def test_a_diagonal_that_is_missing_is_told(book: Any) -> None:
    square, _, _ = two_sums("square")

    def change(mark: Mark, place: GridPlace) -> list[Mark]:
        left, top = place.corner(square)
        ends = left, top, left + place.cell, top + place.cell
        return [] if isinstance(mark, Line) and mark[:4] == pytest.approx(ends) else [mark]

    lines = spoil(book, GridKind.PUZZLE, "square", change)
    assert [line for line in lines if f"{square}: no diagonal parts its two sums" in line]


@pytest.mark.parametrize("kind", GridKind)
@pytest.mark.parametrize("name", MADE)
def test_a_black_square_that_is_lost_is_told(name: str, kind: GridKind, book: Any) -> None:
    puzzle = MADE[name].puzzle
    before = {Cell(cage.first.row - down, cage.first.col + down - 1) for cage in puzzle.cages for down in (0, 1)}
    lost = next(Cell(row, col) for row in range(1, puzzle.rows + 1) for col in range(1, puzzle.columns + 1)
                if (row, col) not in puzzle.cells and (kind is GridKind.ANSWER or (row, col) not in before))

    def change(mark: Mark, place: GridPlace) -> list[Mark]:
        return [] if isinstance(mark, Fill) and is_at(mark, place, turned(place, lost)) else [mark]

    lines = spoil(book, kind, name, change)
    assert any(f"{lost}: a square is not black in which no cell is" in line for line in lines), lines


def turned(place: GridPlace, square: Cell) -> Cell:
    """Where a square of a grid that may be upside down lies on the page."""
    squares = place.squares
    return square if not place.shown.turned else Cell(
        squares.top + squares.bottom - square.row, squares.left + squares.right - square.col)


@pytest.mark.parametrize("kind", GridKind)
@pytest.mark.parametrize("name", MADE)
def test_a_white_square_that_is_black_is_told(name: str, kind: GridKind, book: Any) -> None:
    made = MADE[name]
    white = made.puzzle.cells[len(made.puzzle.cells) // 2]
    place = book.grid(kind, name)
    left, top = place.corner(turned(place, white))
    ring = ((left, top), (left + place.cell, top), (left + place.cell, top + place.cell), (left, top + place.cell))
    seen = [False]

    def change(mark: Mark, _place: GridPlace) -> list[Mark]:
        if isinstance(mark, Line) and not seen[0]:     # over the other squares, under all figures
            seen[0] = True
            return [Fill((ring,), 1.0), mark]
        return [mark]

    lines = spoil(book, kind, name, change)
    assert any(f"{white}: it is black" in line for line in lines), lines


@pytest.mark.parametrize("name", MADE)
def test_another_digit_of_the_answer_is_told(name: str, book: Any) -> None:
    made = MADE[name]
    cell = made.puzzle.cells[-1]
    digit = made.answer.at(cell)
    number, found = len(made.puzzle.cells), [0]

    def change(mark: Mark, _place: GridPlace) -> list[Mark]:
        found[0] += isinstance(mark, Text)
        last = isinstance(mark, Text) and found[0] == number
        return [said(mark, str(digit % 9 + 1)) if last else mark]

    lines = spoil(book, GridKind.ANSWER, name, change)
    assert any(f"{cell}: '{digit % 9 + 1}' stands where the digit {digit} should" in line for line in lines), lines


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
    lines = spoil(book, GridKind.PUZZLE, "low", change)
    assert any(told.format(due=due) in line for line in lines), lines
    assert not any("r0" in line for line in lines), "it has no name"
