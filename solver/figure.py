"""How a rule looks on the grid, in cell units: the corner of r1c1 is (0, 0), x right, y down.

A figure knows no points and no ink. Its role names the look; `typeset.draw` decides the rest.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from math import hypot

from cagework.solver.model import Cell

Point = tuple[float, float]
"""(x, y) in cells from the grid's top-left corner."""


class Role(StrEnum):
    """What a figure is for."""

    FIELD = "field"      # a tint over whole cells, or within one: these belong together
    BAND = "band"        # a broad tinted line, or its end
    LINE = "line"        # a fine line over all but digits
    THREAD = "thread"    # a fine line, or outline, that sums interrupt
    DOUBLE = "double"    # two fine lines, one on each side
    OPEN = "open"        # a white spot with an outline, over lines
    SOLID = "solid"      # a black spot over lines
    GAP = "gap"          # what keeps lines clear of a sign
    SIGN = "sign"        # the line of a sign
    OUTSIDE = "outside"  # what stands round the frame


UNDER = frozenset({Role.FIELD, Role.BAND, Role.THREAD})
"""What lies under all lines of the grid."""


DIGIT = 0.34
"""How far about a cell's middle lines keep clear of its digit in answers, in cells."""


@dataclass(frozen=True, slots=True)
class Tint:
    """Whole cells laid under a tint."""

    cells: tuple[Cell, ...]
    role: Role = Role.FIELD


@dataclass(frozen=True, slots=True)
class Stroke:
    """An open polyline."""

    points: tuple[Point, ...]
    role: Role = Role.LINE


@dataclass(frozen=True, slots=True)
class Spot:
    """A disc, or an upright square: `reach` is its radius, or half its side."""

    centre: Point
    reach: float
    role: Role
    square: bool = False


@dataclass(frozen=True, slots=True)
class Clue:
    """A number outside the frame, with an arrow along the cells of a diagonal, which begins there."""

    cells: tuple[Cell, ...]
    number: int
    role: Role = Role.OUTSIDE


Figure = Tint | Stroke | Spot | Clue

_HALF = 0.07
"""Half the distance of the lines of a double one, in cells."""

_IN_ANSWERS = {Role.FIELD: Role.THREAD, Role.BAND: Role.THREAD}


def sign(one: Cell, other: Cell, size: float) -> tuple[Figure, ...]:
    """The sign between two cells side by side, the first the greater, with the white round it; `size` is half its
    height, in cells.
    """
    (x, y), right, down = between(one, other), other.col - one.col, other.row - one.row
    long = 0.6 * size
    start, point = (x - long * right, y - long * down), (x + long * right, y + long * down)
    ends = [(start[0] + side * down, start[1] + side * right) for side in (-size, size)]
    return Spot((x, y), 1.35 * size, Role.GAP), Stroke((ends[0], point, ends[1]), Role.SIGN)


def dot(one: Cell, other: Cell, role: Role) -> tuple[Figure, ...]:
    """The dot between two cells side by side, with the white that keeps dashes from running into it."""
    centre = between(one, other)
    return Spot(centre, 0.145, Role.GAP), Spot(centre, 0.11, role)


def in_puzzle(figures: Iterable[Figure], given: Iterable[Cell] = ()) -> tuple[Figure, ...]:
    """Figures as they look on a grid to be solved in: double lines by their outlines, and none strikes a given
    through.
    """
    digits = frozenset(map(middle, given))
    shown: list[Figure] = []
    for figure in figures:
        if isinstance(figure, Stroke) and figure.role in (Role.DOUBLE, Role.THREAD):
            parts = _between(figure.points, digits)
            if figure.role is Role.DOUBLE:
                ends = figure.points[0], figure.points[-1]
                parts = (line for part in parts for line in _hollow(part, part[0] in ends, part[-1] in ends))
            shown += [Stroke(part, Role.THREAD) for part in parts]
        else:
            shown.append(figure)
    return tuple(shown)


def in_answer(figures: Iterable[Figure]) -> tuple[Figure, ...]:
    """Figures as they look where tints mean something else: no tinted cells, what is broad as an outline, nothing
    outside the frame; lines run from digit to digit and strike none through.
    """
    shown: list[Figure] = []
    for figure in figures:
        if isinstance(figure, Stroke) and figure.role in (Role.BAND, Role.DOUBLE, Role.THREAD):
            shown += [Stroke((_clear_of(one, other), _clear_of(other, one)), Role.THREAD)
                      for one, other in pairwise(figure.points)]
        elif not isinstance(figure, Tint | Clue):
            shown.append(replace(figure, role=_IN_ANSWERS.get(figure.role, figure.role)))
    return tuple(shown)


def _between(points: Sequence[Point], digits: Container[Point]) -> Iterator[tuple[Point, ...]]:
    """A line in parts, each from digit to digit and clear of both."""
    part = points[:1]
    for number, (one, other) in enumerate(pairwise(points)):
        if one in digits:
            part = (_clear_of(one, other),)
        if other in digits or number == len(points) - 2:
            yield (*part, _clear_of(other, one) if other in digits else other)
        part = (*part, other)


def _clear_of(one: Point, other: Point) -> Point:
    """Where a line from the one point to the other leaves the digit there, should one be a cell's middle."""
    if one[0] % 1 != 0.5 or one[1] % 1 != 0.5:
        return one
    across, down = other[0] - one[0], other[1] - one[1]
    share = DIGIT / hypot(across, down)
    return one[0] + share * across, one[1] + share * down


def is_tinted(figures: Iterable[Figure]) -> bool:
    """Whether tints mean something on a grid already, and can tell neither cages nor regions apart."""
    return any(figure.role in (Role.FIELD, Role.BAND) for figure in figures)


def _hollow(points: Sequence[Point], begins: bool, ends: bool) -> tuple[tuple[Point, ...], ...]:
    """The outline of a double line through points, with sharp corners: closed where it begins and where it ends,
    and else open.
    """
    steps = [(two[0] - one[0], two[1] - one[1]) for one, two in pairwise(points)]
    normals = [(-down / hypot(right, down), right / hypot(right, down)) for right, down in steps]
    sides: list[tuple[Point, Point]] = []
    for (x, y), (a, b), (c, d) in zip(points, [normals[0], *normals], [*normals, normals[-1]], strict=True):
        out = _HALF / (1 + a * c + b * d)
        across, away = (a + c) * out, (b + d) * out
        sides.append(((x + across, y + away), (x - across, y - away)))
    left, right = tuple(one for one, _ in sides), tuple(other for _, other in sides)
    if begins and ends:
        return ((*left, *right[::-1], left[0]),)
    if begins:
        return ((*left[::-1], *right),)
    return ((*left, *right[::-1]),) if ends else (left, right)


def middle(cell: Cell) -> Point:
    """The middle of a cell."""
    return cell.col - 0.5, cell.row - 0.5


def between(one: Cell, other: Cell) -> Point:
    """The middle between two cells: of the side they share, where they do."""
    return (one.col + other.col - 1) / 2, (one.row + other.row - 1) / 2
