"""What is painted in a state of the page: fills, lines, images, shadings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import chain
from typing import Any

from cagework.typeset.marks import Point
from cagework.typeset.reader.colour import Colour
from cagework.typeset.reader.geometry import UNMOVED, Rectangle, box_round, pen_width, short_side, thickness
from cagework.typeset.reader.graphics_state import GraphicsState
from cagework.typeset.reader.keys import look
from cagework.typeset.reader.paint import Paint, PaintKind, made

Ring = tuple[Point, ...]

_SOLID: tuple[tuple[float, ...], float] = ((), 0.0)


def filled(state: GraphicsState, rings: tuple[Ring, ...], operator: str) -> Paint:
    """A path filled by one of f, F, f*, B, B*, b, b*: the latter four draw its edge too, so it is not too thin."""
    weight: float | None
    thinnest: float | None
    box = box_round(rings[0] if len(rings) == 1 else chain.from_iterable(rings))
    if len(rings) == 1 and (side := short_side(rings[0], box)) is not None:
        weight = thinnest = side
    else:
        weight = min((side for ring in rings if (side := short_side(ring)) is not None), default=None)
        thinnest = thickness(rings, operator[-1] == "*")
    if operator[0] not in "fF":
        thinnest = None
    if state.slit != math.inf:
        thinnest = state.slit_of(thinnest)
    return made(Paint, (PaintKind.FILL, box, state.fill, weight, None, None, False, False, rings, (), (),
                        state.style, _SOLID, False, False, False, None, thinnest, False, False))


def stroked(state: GraphicsState, ring: Ring) -> Paint:
    """One part of a path drawn as a line."""
    weight = state.width if state.matrix is UNMOVED else pen_width(state.matrix, state.width, ring)
    thinnest = weight if state.slit == math.inf else state.slit_of(weight)
    dash = state.dash if state.style.dash[0] else _SOLID
    (xs, ys), half = zip(*ring, strict=True), weight / 2
    box = made(Rectangle, (min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half))
    return made(Paint, (PaintKind.STROKE, box, state.stroke, weight, None, None, False, False, (ring,), (), (),
                        state.style, dash, False, False, False, None, thinnest, False, False))


def graded(state: GraphicsState, shading: Any, colour: Colour, tiled: bool) -> Paint:
    """A shading over all the clip lets show."""
    return Paint(PaintKind.SHADING, state.clip, colour, tiled=tiled, style=state.style, source=shading,
                 thinnest=None if tiled or state.slit == math.inf else state.slit)


def pictured(state: GraphicsState, image: Any, colour: Colour) -> Paint:
    """An image on the unit square."""
    matrix = state.matrix
    corners = tuple([matrix.at(x, y) for x, y in ((0.0, 1.0), (1.0, 1.0), (1.0, 0.0), (0.0, 0.0))])
    box = box_round(corners)
    across, up = max(matrix.across, 1e-9) / 72, max(matrix.up, 1e-9) / 72
    flat = abs(matrix.a * matrix.d - matrix.b * matrix.c) / (72 * max(across, up))
    return Paint(
        PaintKind.IMAGE, box, colour,
        ppi=min(float(look(image, "/Width")) / across, float(look(image, "/Height")) / up),
        line_art=bool(look(image, "/ImageMask", False)) or look(image, "/BitsPerComponent") == 1,
        style=state.style._replace(masked=True) if look(image, "/SMask") is not None else state.style,
        source=image, thinnest=state.slit_of(flat), rings=(corners,),
    )


_LONG = {"/W": "/Width", "/H": "/Height", "/BPC": "/BitsPerComponent", "/CS": "/ColorSpace", "/IM": "/ImageMask",
         "/F": "/Filter", "/D": "/Decode", "/DP": "/DecodeParms", "/I": "/Interpolate"}


def spelled(image: Any) -> Mapping[str, Any]:
    """An inline image's keys in full (ISO 32000-1, table 93), and its data under a name of its own."""
    return {_LONG.get(str(key), str(key)): value for key, value in image["settings"].items()} | {
        "data": image.get("data", b"")}
