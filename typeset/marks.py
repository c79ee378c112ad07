"""The one drawing vocabulary: what stands on a page, in points (1/72 in), from the top left, y down.

A mark knows nothing of SVG or PDF; `typeset.svg` and `typeset.pdf` turn the same marks into files.
There is one ink: `ink` is how much black, from 0 (paper) to 1 (solid).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

MM = 72 / 25.4
"""Points in a millimetre."""

Point = tuple[float, float]
Ring = tuple[Point, ...]
"""The corners of a closed polygon, the first not repeated."""


class Cap(StrEnum):
    """How a line ends."""

    BUTT = "butt"
    SQUARE = "square"
    ROUND = "round"


@dataclass(frozen=True, slots=True)
class Dash:
    """A dash pattern: `on` and `off` lengths in pt, and how far into it a path starts."""

    on: float
    off: float
    phase: float


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float
    ink: float = 1.0
    cap: Cap = Cap.BUTT
    dash: Dash | None = None


@dataclass(frozen=True, slots=True)
class Outline:
    """One path of closed rings, stroked with mitred corners; the dash starts anew on each ring."""

    rings: tuple[Ring, ...]
    weight: float
    ink: float = 1.0
    dash: Dash | None = None


@dataclass(frozen=True, slots=True)
class Fill:
    """Closed rings, filled by the even-odd rule; no outline."""

    rings: tuple[Ring, ...]
    ink: float


@dataclass(frozen=True, slots=True)
class Text:
    """A run of text in one face: each chunk starts `dx` pt right of x; y is the baseline; `tracking` pt follow
    each character.
    """

    x: float
    y: float
    chunks: tuple[tuple[float, str], ...]
    face: str
    size: float
    ink: float = 1.0
    tracking: float = 0.0

    @property
    def string(self) -> str:
        """The run as one string."""
        return "".join(text for _, text in self.chunks)


@dataclass(frozen=True, slots=True)
class Group:
    """Marks that belong together under a name; drawn in order."""

    name: str
    marks: tuple[Mark, ...]


Mark = Line | Outline | Fill | Text | Group


@dataclass(frozen=True, slots=True)
class Link:
    """A rectangle that leads to a named anchor elsewhere in the file, in pt as marks are."""

    x: float
    y: float
    width: float
    height: float
    target: str


@dataclass(frozen=True, slots=True)
class Anchor:
    """A spot a link or a bookmark can lead to, `y` points down the page."""

    name: str
    y: float


@dataclass(frozen=True, slots=True)
class Page:
    """One finished page: its trimmed size in pt and all that is on it."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    links: tuple[Link, ...] = ()
    anchors: tuple[Anchor, ...] = ()


def rectangle(x: float, y: float, width: float, height: float) -> Ring:
    """The ring of an upright rectangle, clockwise from its top left."""
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def flatten(marks: Iterable[Mark]) -> Iterator[Line | Outline | Fill | Text]:
    """All marks in drawing order, groups opened."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from flatten(mark.marks)
        else:
            yield mark
