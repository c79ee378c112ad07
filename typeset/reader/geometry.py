"""Boxes and matrices in a PDF's own space: points (1/72 in), y up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from cagework.typeset.marks import MM, Point
from cagework.typeset.reader.keys import numbers


class Rectangle(NamedTuple):
    """An upright rectangle by its edges, in pt."""

    left: float
    low: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From low to top."""
        return self.top - self.low

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height in mm."""
        return self.width / MM, self.height / MM

    def holds(self, other: Rectangle, slack: float) -> bool:
        """Whether the other lies within this one, give or take `slack` pt at each edge."""
        return (self.left - slack <= other.left and self.low - slack <= other.low
                and other.right <= self.right + slack and other.top <= self.top + slack)

    def meets(self, other: Rectangle) -> bool:
        """Whether the two share more than an edge."""
        return (self.left < other.right and other.left < self.right
                and self.low < other.top and other.low < self.top)

    def cut_to(self, other: Rectangle) -> Rectangle | None:
        """What the two share; None where that is nothing. A flat box, such as a line's, keeps its place."""
        left, low = max(self.left, other.left), max(self.low, other.low)
        right, top = min(self.right, other.right), min(self.top, other.top)
        return Rectangle(left, low, right, top) if left <= right and low <= top else None

    def grown(self, by: float) -> Rectangle:
        """Moved outwards by `by` pt at each edge."""
        return Rectangle(self.left - by, self.low - by, self.right + by, self.top + by)


def box_round(points: Iterable[Point]) -> Rectangle:
    """The least box round some points, at least one."""
    xs, ys = zip(*points, strict=True)
    return Rectangle(min(xs), min(ys), max(xs), max(ys))


class Matrix(NamedTuple):
    """(x, y) -> (a x + c y + e, b x + d y + f), as ISO 32000-1, 8.3.4 writes it."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def then(self, other: Matrix) -> Matrix:
        """This one first, then the other."""
        if other is UNMOVED:
            return self
        return Matrix(
            self.a * other.a + self.b * other.c, self.a * other.b + self.b * other.d,
            self.c * other.a + self.d * other.c, self.c * other.b + self.d * other.d,
            self.e * other.a + self.f * other.c + other.e, self.e * other.b + self.f * other.d + other.f,
        )

    def at(self, x: float, y: float) -> Point:
        """Where a point goes."""
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    @property
    def across(self) -> float:
        """How long a unit to the right becomes."""
        return math.hypot(self.a, self.b)

    @property
    def up(self) -> float:
        """How long a unit upwards becomes."""
        return math.hypot(self.c, self.d)

    @property
    def least(self) -> float:
        """How long a unit becomes at the least, in whatever direction: the smaller singular value."""
        half = (self.a ** 2 + self.b ** 2 + self.c ** 2 + self.d ** 2) / 2
        root = math.sqrt(max(0.0, half ** 2 - (self.a * self.d - self.b * self.c) ** 2))
        return math.sqrt(max(0.0, half - root))


UNMOVED = Matrix()
"""What leaves every point where it is."""


def matrix_of(operands: Any) -> Matrix:
    """An array of six numbers as a matrix; none leaves every point where it is."""
    return UNMOVED if operands is None else Matrix(*numbers(operands)[:6])


_APART = 0.0001
"""Points by which edges differ, at the least, that are not one."""

_NARROW = 5.0
"""Points up to which the thickness of a shape matters to anyone."""


def short_side(ring: Sequence[Point], box: Rectangle | None = None) -> float | None:
    """The shorter side of an upright rectangle; None for any other shape, or one without thickness. `box` is the
    box round it where that is known.
    """
    if len(ring) not in (4, 5):
        return None
    left, low, right, top = box or box_round(ring)
    if right - left < _APART or top - low < _APART:
        return None
    for x, y in ring:
        if left + _APART < x < right - _APART or low + _APART < y < top - _APART:
            return None
    (x0, y0), (x1, y1), (x2, y2), (x3, y3), *_ = ring       # a triangle may have all its corners there
    if min(abs(x2 - x0), abs(y2 - y0), abs(x3 - x1), abs(y3 - y1)) < _APART:
        return None
    return min(right - left, top - low)


def thickness(rings: Sequence[Sequence[Point]], evenly: bool = False) -> float | None:
    """How thin a filled shape is at its thinnest ring, in pt: the shorter side of a rectangle, the least width of
    any other narrow ring, or the band between two rectangles, one inside the other. None where no ring tells.
    """
    found = [side for ring in rings if (side := _narrowest(ring)) is not None]
    if len(rings) == 2 and (band := _band(rings[0], rings[1], evenly)) is not None:
        found.append(band)
    return min(found, default=None)


def _narrowest(ring: Sequence[Point]) -> float | None:
    box = box_round(ring)
    sides = sorted((box.right - box.left, box.top - box.low))
    if sides[1] < _APART:
        return None
    if sides[0] < _APART:
        return 0.0
    if len(ring) in (4, 5) and _upright(ring, box):
        return sides[0]
    if len(ring) > _CORNERS or (len(ring) > 5 and sides[0] > _NARROW and sides[1] < 20 * _NARROW):
        return None
    edges = [(start, end) for start, end in pairwise((*ring, ring[0])) if start != end]
    width = min((_width(ring, start, end) for start, end in edges), default=None)
    is_line = width is not None and (len(ring) in (4, 5) or width * 4 < sides[1])
    return width if is_line else None


_CORNERS = 64
"""Corners up to which a shape may be a line by another name."""


def _upright(ring: Sequence[Point], box: Rectangle) -> bool:
    return all(x <= box.left + _APART or x >= box.right - _APART for x, _ in ring) and all(
        y <= box.low + _APART or y >= box.top - _APART for _, y in ring)


def _width(ring: Sequence[Point], start: Point, end: Point) -> float:
    """How far a ring reaches across a line along one of its edges."""
    along, up = end[0] - start[0], end[1] - start[1]
    length = math.hypot(along, up)
    off = [((x - start[0]) * up - (y - start[1]) * along) / length for x, y in ring]
    return max(off) - min(off)


def _band(one: Sequence[Point], other: Sequence[Point], evenly: bool) -> float | None:
    """What lies between two upright rectangles where one is a hole in the other."""
    outer, inner = box_round(one), box_round(other)
    if inner.holds(outer, 0.0):
        outer, inner = inner, outer
    if not (outer.holds(inner, 0.0) and _upright(one, box_round(one)) and _upright(other, box_round(other))):
        return None
    if not evenly and (_turn(one) > 0) == (_turn(other) > 0):
        return None
    gaps = (inner.left - outer.left, inner.low - outer.low, outer.right - inner.right, outer.top - inner.top)
    return min((gap for gap in gaps if gap > _APART), default=None)


def _turn(ring: Sequence[Point]) -> float:
    """Twice a ring's area, less than 0 where it runs clockwise."""
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise((*ring, ring[0])))


def pen_width(matrix: Matrix, width: float, ring: Sequence[Point]) -> float:
    """How thick a line of that width comes out at its thinnest: a pen that is squeezed draws lines along the
    squeeze as thick as ever.
    """
    if matrix is UNMOVED:
        return width
    if abs(matrix.a * matrix.c + matrix.b * matrix.d) < _EVEN and abs(matrix.across - matrix.up) < _EVEN:
        return width * matrix.across
    thinnest = math.inf
    for (x1, y1), (x2, y2) in pairwise(ring):
        if length := math.hypot(x2 - x1, y2 - y1):
            across, up = (y1 - y2) / length, (x2 - x1) / length
            reach = math.hypot(matrix.a * across + matrix.b * up, matrix.c * across + matrix.d * up)
            thinnest = min(thinnest, reach)
    return width * (matrix.least if thinnest is math.inf else thinnest)


_EVEN = 1e-9
