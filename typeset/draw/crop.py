"""Marks outside the trim: where to cut, where to fold.

They start beyond the bleed, 1/8 in (3.175 mm) from the trim or more (designforprint.co.za printer's marks;
printplanet.com thread 5558).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cagework.layouts.page import Box
from cagework.typeset.marks import MM, Dash, Group, Line, Mark

_CLEAR, _LENGTH = 3.175, 5.0
"""Mm from the trim to the marks at least, and how long they are."""

WEIGHT = 0.25
"""Of the lines, in pt (common practice)."""


def clear_of(bleed: float) -> float:
    """How far from the trim the marks start, in mm."""
    return max(bleed, _CLEAR)


def reach_of(bleed: float) -> float:
    """How far from the trim the marks end, in mm."""
    return clear_of(bleed) + _LENGTH


def crop_marks(trim: Box, bleed: float, folds: Iterable[float] = (), weight: float = WEIGHT) -> Group:
    """Two lines at each corner of the trim, and a dashed one above and below each fold. The trim and the folds (x)
    in pt, the bleed in mm.
    """
    near, far = clear_of(bleed) * MM, reach_of(bleed) * MM
    marks: list[Mark] = []
    for x in (trim.x, trim.right):
        marks += _upright(trim, x, near, far, weight, None)
    for y in (trim.y, trim.bottom):
        marks.append(Line(trim.x - far, y, trim.x - near, y, weight))
        marks.append(Line(trim.right + near, y, trim.right + far, y, weight))
    for x in folds:
        marks += _upright(trim, x, near, far, weight, Dash(2.0, 1.5, 0.0))
    return Group("crop-marks", tuple(marks))


def _upright(trim: Box, x: float, near: float, far: float, weight: float, dash: Dash | None) -> Iterator[Line]:
    yield Line(x, trim.y - far, x, trim.y - near, weight, dash=dash)
    yield Line(x, trim.bottom + near, x, trim.bottom + far, weight, dash=dash)
