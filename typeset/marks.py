"""The one drawing vocabulary: what stands on a page, in points (1/72 in), from the top left, y down.

A mark knows nothing of SVG or PDF; `typeset.svg` and `typeset.pdf` turn the same marks into files.
`ink` is how much ink, from 0 (paper) to 1 (solid), of black or of a second ink, `spot`. What leaves ink are named
tuples: a book has some hundred thousand of them, and they are made in a third of the time of other frozen records.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import NamedTuple

from cagework.typeset.raster import Raster
from cagework.typeset.spot import SpotInk

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


class Line(NamedTuple):
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float
    ink: float = 1.0
    cap: Cap = Cap.BUTT
    dash: Dash | None = None
    spot: SpotInk | None = None


class Outline(NamedTuple):
    """One path of closed rings, stroked with mitred corners; the dash starts anew on each ring."""

    rings: tuple[Ring, ...]
    weight: float
    ink: float = 1.0
    dash: Dash | None = None
    spot: SpotInk | None = None


class Fill(NamedTuple):
    """Closed rings, filled by the even-odd rule; no outline."""

    rings: tuple[Ring, ...]
    ink: float
    spot: SpotInk | None = None


class After(StrEnum):
    """What parts a run of text from the one after it, for those who hear or copy it."""

    SPACE = "space"
    NOTHING = "nothing"
    DIVISION = "division"    # its last hyphen is there because the line ends


Chunks = tuple[tuple[float, str], ...]
"""Pieces of a text, and how far right of its start each begins, in pt."""


class Text(NamedTuple):
    """A run of text in one face: each chunk starts `dx` pt right of x; y is the baseline; `tracking` pt follow
    each character; the whole is turned about (x, y) by `angle` degrees clockwise.
    """

    x: float
    y: float
    chunks: Chunks
    face: str
    size: float
    ink: float = 1.0
    tracking: float = 0.0
    angle: float = 0.0
    after: After = After.SPACE
    spot: SpotInk | None = None

    @property
    def string(self) -> str:
        """The run as one string."""
        return "".join(text for _, text in self.chunks)


class Picture(NamedTuple):
    """A picture upright in the rectangle whose top left corner is (x, y)."""

    x: float
    y: float
    width: float
    height: float
    raster: Raster

    @property
    def rings(self) -> tuple[Ring, ...]:
        """Its corners, clockwise from its top left."""
        return (rectangle(self.x, self.y, self.width, self.height),)


class Tag(StrEnum):
    """What a group is to a reader who hears the page: PDF's own names (ISO 32000-1, 14.8.4)."""

    TITLE = "H1"
    HEADING = "H2"
    SUBHEADING = "H3"
    MINOR = "H4"
    PARAGRAPH = "P"
    LABEL = "Lbl"            # the number or bullet of a list's item
    ITEM = "LBody"           # what the item says
    FIGURE = "Figure"


@dataclass(frozen=True, slots=True)
class Group:
    """Marks that belong together under a name; drawn in order.

    Groups with a `tag` are read aloud in the order they are drawn, a figure by `alt`, and what stands in none is
    passed over. `shows` is what they picture, for those who read the finished page back.
    """

    name: str
    marks: tuple[Mark, ...]
    tag: Tag | None = None
    alt: str = ""
    shows: object = None


Leaf = Line | Outline | Fill | Text | Picture
Mark = Leaf | Group


@dataclass(frozen=True, slots=True)
class Link:
    """A rectangle that leads to a named anchor elsewhere in the file, in pt as marks are; `says` is where to, in
    words.
    """

    x: float
    y: float
    width: float
    height: float
    target: str
    says: str = ""


@dataclass(frozen=True, slots=True)
class Anchor:
    """A spot a link or a bookmark can lead to, `y` points down the page."""

    name: str
    y: float


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An entry of the outline: what it says, the anchor it leads to, how deep it lies (0 = top)."""

    title: str
    anchor: str
    level: int


@dataclass(frozen=True, slots=True)
class PagePart:
    """What some part of a page holds."""

    marks: tuple[Mark, ...] = ()
    links: tuple[Link, ...] = ()
    anchors: tuple[Anchor, ...] = ()


@dataclass(frozen=True, slots=True)
class Page:
    """One finished page: its trimmed size in pt and all that is on it. Marks that reach past it bleed."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    links: tuple[Link, ...] = ()
    anchors: tuple[Anchor, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """The paper round the trim of a press file, in pt: `bleed` of it is printed over, `room` reaches its edge."""

    bleed: float
    room: float


def rectangle(x: float, y: float, width: float, height: float) -> Ring:
    """The ring of an upright rectangle, clockwise from its top left."""
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def in_rows(texts: Iterable[Text]) -> Iterator[Text]:
    """Level texts of one look from left to right, those in one face and size on one baseline as one, with a blank
    after each: a grid's figures are so much less to write, and to read.
    """
    rows: dict[tuple[float, str, float], list[Text]] = {}
    for text in texts:
        rows.setdefault((text.y, text.face, text.size), []).append(text)
    for first, *others in rows.values():
        parts = [(text.x, text.chunks) for text in (first, *others)]
        yield first._replace(chunks=in_a_row(parts)) if others else first


def in_a_row(parts: Sequence[tuple[float, Chunks]]) -> Chunks:
    """The chunks of texts by their x, one after another, as those of one text that starts with the first."""
    (first, chunks), *others = parts
    said = list(chunks)
    for x, chunks in others:
        at, last = said[-1]
        said[-1] = at, f"{last} "
        apart = x - first
        said += [(apart + dx, chunk) for dx, chunk in chunks]
    return tuple(said)


def flatten(marks: Iterable[Mark]) -> Iterator[Leaf]:
    """All marks in drawing order, groups opened."""
    waiting = [iter(marks)]
    while waiting:
        for mark in waiting[-1]:
            if isinstance(mark, Group):
                waiting.append(iter(mark.marks))
                break
            yield mark
        else:
            waiting.pop()


def groups(marks: Iterable[Mark]) -> Iterator[Group]:
    """Every group, each before those inside it."""
    for mark in marks:
        if isinstance(mark, Group):
            yield mark
            yield from groups(mark.marks)


def scaled(mark: Mark, factor: float, x: float, y: float) -> Mark:
    """The same mark `factor` times as large, what stood at the origin now at (x, y) pt."""
    def at(point: Point) -> Point:
        return x + factor * point[0], y + factor * point[1]

    match mark:
        case Group():
            return replace(mark, marks=tuple(scaled(one, factor, x, y) for one in mark.marks))
        case Line():
            return _along(mark, at)._replace(weight=factor * mark.weight, dash=_scaled_dash(mark.dash, factor))
        case Outline():
            rings = tuple(tuple(map(at, ring)) for ring in mark.rings)
            return mark._replace(rings=rings, weight=factor * mark.weight, dash=_scaled_dash(mark.dash, factor))
        case Fill():
            return mark._replace(rings=tuple(tuple(map(at, ring)) for ring in mark.rings))
        case Text():
            start = at((mark.x, mark.y))
            chunks = tuple((factor * dx, text) for dx, text in mark.chunks)
            return mark._replace(x=start[0], y=start[1], chunks=chunks, size=factor * mark.size,
                           tracking=factor * mark.tracking)
        case Picture():
            left, top = at((mark.x, mark.y))
            return Picture(left, top, factor * mark.width, factor * mark.height, mark.raster)


def half_turned(mark: Mark, x: float, y: float) -> Mark:
    """The same mark turned by half about (x, y) pt: upside down."""
    def at(point: Point) -> Point:
        return 2 * x - point[0], 2 * y - point[1]

    match mark:
        case Group():
            return replace(mark, marks=tuple(half_turned(one, x, y) for one in mark.marks))
        case Line():
            return _along(mark, at)
        case Outline() | Fill():
            return mark._replace(rings=tuple(tuple(map(at, ring)) for ring in mark.rings))
        case Text():
            start = at((mark.x, mark.y))
            return mark._replace(x=start[0], y=start[1], angle=(mark.angle + 180.0) % 360.0)
        case Picture():
            left, top = at((mark.x + mark.width, mark.y + mark.height))
            return Picture(left, top, mark.width, mark.height, mark.raster.half_turned())


def _along(line: Line, at: Callable[[Point], Point]) -> Line:
    (x1, y1), (x2, y2) = at((line.x1, line.y1)), at((line.x2, line.y2))
    return line._replace(x1=x1, y1=y1, x2=x2, y2=y2)


def _scaled_dash(dash: Dash | None, factor: float) -> Dash | None:
    return None if dash is None else Dash(factor * dash.on, factor * dash.off, factor * dash.phase)
