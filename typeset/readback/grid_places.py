"""Laid-out pages to where each grid lies: all that the read-back takes from the drawing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.draw.squares import Squares, squares_of
from cagework.typeset.marks import Group, Mark, Outline, Page, Text
from cagework.typeset.solving.story import Picture


@dataclass(frozen=True, slots=True)
class GridPlace:
    """A grid on page `page` (from 1): the corner of its frame at (x, y) pt from the trim's, its cells `cell` pt
    wide, and the squares within its frame.
    """

    page: int
    shown: Shown
    x: float
    y: float
    cell: float
    squares: Squares

    @property
    def name(self) -> str:
        """What it is, in words."""
        puzzle = f"'{self.shown.id}'"
        return f"puzzle {puzzle}" if self.shown.kind is GridKind.PUZZLE else f"{self.shown.kind} of {puzzle}"

    @property
    def width(self) -> float:
        """The width of the grid in pt."""
        return self.cell * self.squares.across

    @property
    def height(self) -> float:
        """Its height in pt."""
        return self.cell * self.squares.down

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies within the grid."""
        return self.x <= x <= self.x + self.width and self.y <= y <= self.y + self.height

    def cell_at(self, x: float, y: float) -> Cell:
        """The square that holds a point of the grid."""
        squares = self.squares
        return Cell(squares.top + min(int((y - self.y) / self.cell), squares.down - 1),
                    squares.left + min(int((x - self.x) / self.cell), squares.across - 1))

    def corner(self, square: Cell) -> tuple[float, float]:
        """The top left of one of its squares."""
        squares = self.squares
        return self.x + (square.col - squares.left) * self.cell, self.y + (square.row - squares.top) * self.cell


def to_be_named(square: Cell) -> Cell | None:
    """A square of the map; None for one before it, which has no name."""
    return square if square.row and square.col else None


class Standing(NamedTuple):
    """That a grid of the book stands on a page; `picture` is of a diagram."""

    kind: GridKind
    id: str
    picture: Picture | None
    page: int


def placed(number: int, page: Page) -> tuple[GridPlace, ...]:
    """Every grid of page `number`. ValueError for one without a frame."""
    return tuple(_on(number, page.marks))


def _on(number: int, marks: Iterable[Mark]) -> Iterator[GridPlace]:
    for mark in marks:
        if isinstance(mark, Group) and isinstance(mark.shows, Shown):
            x, y, width = _frame(mark)
            squares = squares_of(mark.shows.puzzle, summed=mark.shows.kind is not GridKind.ANSWER)
            yield GridPlace(number, mark.shows, x, y, width / squares.across, squares)
        elif isinstance(mark, Group):
            yield from _on(number, mark.marks)


def _frame(group: Group) -> tuple[float, float, float]:
    """The corner and width of the first solid outline in a group: a grid's frame."""
    waiting: list[Mark] = list(group.marks)
    while waiting:
        mark = waiting.pop(0)
        if isinstance(mark, Outline) and mark.dash is None:
            xs, ys = [x for x, _ in mark.rings[0]], [y for _, y in mark.rings[0]]
            return min(xs), min(ys), max(xs) - min(xs)
        if isinstance(mark, Group):
            waiting[:0] = mark.marks
    raise ValueError("a grid without a frame cannot be read back")


def words_of(marks: Iterable[Mark], group: str = "") -> Iterator[tuple[Text, str]]:
    """Every text of a page, with the name of the group it is in."""
    for mark in marks:
        if isinstance(mark, Text):
            yield mark, group
        elif isinstance(mark, Group):
            yield from words_of(mark.marks, mark.name)
