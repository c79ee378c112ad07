"""What does not fit between a page's marks and its paints, before it is known in which grid it lies."""

from __future__ import annotations

from typing import NamedTuple

from cagework.typeset.marks import MM
from cagework.typeset.readback.painted import SECOND

Box = tuple[float, float, float, float]
"""Left, top, right and bottom in pt from the trim's top left, y down."""


class Misfit(NamedTuple):
    """Where, in pt from the trim's top left, y down; of what kind of thing; and in words."""

    x: float
    y: float
    of: str
    message: str


class Pair(NamedTuple):
    """A mark and the paint that is it, by their turns in the drawing, and its box; whether it covers what is
    below.
    """

    due: int
    order: int
    box: Box
    covers: bool


def where(x: float, y: float) -> str:
    """A place in words."""
    return f"{x / MM:.0f} mm from the left and {y / MM:.0f} mm from the top"


def measures(box: Box) -> str:
    """A box in words: its size and its place."""
    left, top, right, bottom = box
    return f"{(right - left) / MM:.1f} x {(bottom - top) / MM:.1f} mm, {where(left, top)}"


def middle(box: Box) -> tuple[float, float]:
    """The middle of a box."""
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def darkness_words(ink: float) -> str:
    """How dark something is, in words."""
    if ink >= SECOND:
        return f"{100 * (ink - SECOND):.0f} % of the second ink"
    return "white" if ink <= 0 else "solid" if ink >= 1 else f"{100 * ink:.0f} % dark"
