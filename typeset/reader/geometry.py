"""Boxes and matrices in a PDF's own space: points (1/72 in), y up."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from cagework.typeset.marks import MM, Point


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

_APART = 0.0001
"""Points by which edges differ, at the least, that are not one."""


def thickness(ring: Sequence[Point]) -> float | None:
    """The shorter side of an upright rectangle; None for any other shape, or one without thickness."""
    if len(ring) not in (4, 5):
        return None
    left, low, right, top = box_round(ring)
    if right - left < _APART or top - low < _APART:
        return None
    for x, y in ring:
        if left + _APART < x < right - _APART or low + _APART < y < top - _APART:
            return None
    return min(right - left, top - low)
