"""One thing a page paints, as the rules look at it."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from typing import Any, NamedTuple

from cagework.typeset.marks import Point
from cagework.typeset.reader.colour import Colour
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.style import PLAIN, Style

made = tuple.__new__
"""Makes a named tuple of all its fields in half the time that its own call takes."""


class PaintKind(StrEnum):
    """What was painted."""

    FILL = "fill"
    STROKE = "line"
    TEXT = "text"
    IMAGE = "image"
    SHADING = "shading"


class Paint(NamedTuple):
    """One thing painted. `box` is in pt; a flat box is a line's.

    `weight` is the least thickness in pt, of a stroke or of a filled rectangle, and `thinnest` that of anything,
    after the clip; `size` a text's in pt; `ppi` an
    image's pixels per inch as placed, the lesser of the two ways, and `line_art` whether it has but one bit.
    `tiled` says that it belongs to a pattern's cell, so that its place says nothing.

    `rings` are the corners of a fill's shape or of a line's path, control points of curves among them; a closed
    one ends where it began. An image's ring is where its corners lie, clockwise from its top left. `chars` is what
    a text says, code by code, empty where the font does not tell, and `starts` the x of each and of the pen after
    the last; without `starts` it does not run from left to right.

    `style` is the rest of the graphics state, and `dash` a dashed line's lengths and phase in pt. `hidden` says
    that it lies on a layer that is off, or in an annotation that is not shown; `annotated` that an annotation
    paints it; `masking` that it lies in a soft mask, which is not seen itself. `source` is an image's or a
    shading's dictionary. `cut` says that the clip made `box` smaller, `turned` that a
    text stands on its head: turned by half, and no otherwise.
    """

    kind: PaintKind
    box: Rectangle
    colour: Colour
    weight: float | None = None
    size: float | None = None
    ppi: float | None = None
    line_art: bool = False
    tiled: bool = False
    rings: tuple[tuple[Point, ...], ...] = ()
    chars: tuple[str, ...] = ()
    starts: Sequence[float] = ()
    style: Style = PLAIN
    dash: tuple[tuple[float, ...], float] = ((), 0.0)
    hidden: bool = False
    annotated: bool = False
    masking: bool = False
    source: Any = None
    thinnest: float | None = None
    cut: bool = False
    turned: bool = False

    @property
    def opacity(self) -> float | None:
        """How opaque it is, from 0 (not seen) to 1; None where a soft mask leaves that unknown."""
        stroked = self.kind is PaintKind.STROKE or (self.kind is PaintKind.TEXT and self.style.render % 4 == 1)
        return self.style.opacity(stroked)
