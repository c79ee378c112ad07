"""How a thing is painted besides its place: how dark, and whether in any way a book's marks never are."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from cagework.typeset.reader.colour import Colour
from cagework.typeset.reader.paint import Paint, PaintKind
from cagework.typeset.reader.style import Style
from cagework.typeset.spot import SpotInk

SAME_INK = 0.012
"""Inks that differ by no more are one: programs that write files anew round to 255ths."""

SECOND = 2.0
"""Added to how dark a thing is that is in the book's second ink, so that it never goes for a tint of black."""

_NEUTRAL = 0.004
"""How far the parts of a grey may lie apart."""


class Look(NamedTuple):
    """How dark, from 0 (paper) to 1, a picture counting as 0; and, in words, what sets it off from plain black ink
    or a tint of it.
    """

    ink: float
    oddity: str


class Plate(NamedTuple):
    """The book's second ink, and whether it is to have a plate of its own or to be shown in its colour; None where
    it may be either, as in a file that came back from elsewhere.
    """

    spot: SpotInk
    separate: bool | None

    def tint(self, colour: Colour) -> float | None:
        """How much of the ink a colour is; None where it is another."""
        spot, values, space = self.spot, colour.values, colour.space
        if (space.family, space.names) == ("Separation", (spot.name,)):
            proof = space.transform((1.0,)) if space.transform else ()
            same = self.separate is not False and len(proof) == 4 and _alike(proof, spot.cmyk)
            return values[0] if same and values else None
        if self.separate or len(values) != 3:
            return None
        solid = spot.rgb()
        part = min(range(3), key=solid.__getitem__)
        tint = (1 - values[part]) / (1 - solid[part])
        return tint if tint > SAME_INK and _alike(values, spot.rgb(tint)) else None


def _alike(some: Sequence[float], others: Sequence[float]) -> bool:
    return all(abs(one - other) <= SAME_INK for one, other in zip(some, others, strict=True))


class Looks:
    """The looks of one page's paints, each worked out once; of a book with a second ink its `plate` is known."""

    def __init__(self, plate: Plate | None = None) -> None:
        self._plate = plate
        self._known: dict[tuple[int, int, int], Look] = {}      # by the ids of colour and style, which paints hold
        self._last: tuple[Any, ...] = (None, None, None, None, None)
        self._look = Look(0.0, "")

    def of(self, paint: Paint) -> Look:
        """How a paint looks: mostly as the last one did."""
        colour, style, kind, hidden, annotated = self._last
        if not (paint.colour is colour and paint.style is style and paint.kind is kind and paint.hidden is hidden
                and paint.annotated is annotated):
            self._last = paint.colour, paint.style, paint.kind, paint.hidden, paint.annotated
            self._look = self._looked_up(paint)
        return self._look

    def _looked_up(self, paint: Paint) -> Look:
        flags = 1 * paint.hidden + 2 * paint.annotated + 4 * (paint.kind is PaintKind.STROKE)
        if paint.kind is PaintKind.TEXT and paint.style.render:
            flags += 8
        elif paint.kind is PaintKind.IMAGE:
            flags += 16
        key = (id(paint.colour), id(paint.style), flags)
        look = self._known.get(key)
        if look is None:
            look = self._known[key] = _look(paint, self._plate)
        return look


def _look(paint: Paint, plate: Plate | None) -> Look:
    if paint.kind is PaintKind.IMAGE:
        ink, hue = 0.0, ""
    elif plate and (tint := plate.tint(paint.colour)) is not None:
        ink, hue = SECOND + tint, ""
    else:
        ink, hue = _ink(paint.colour)
    return Look(ink, ", ".join(filter(None, (
        "painted by an annotation" if paint.annotated else "",
        "on a layer that is off" if paint.hidden else "",
        hue, _seen_through(paint), _laid_over(paint.style, ink, paint.kind is PaintKind.STROKE),
        "in outline" if paint.kind is PaintKind.TEXT and paint.style.render % 4 in (1, 2) else "",
        "used as a clip" if paint.kind is PaintKind.TEXT and paint.style.render > 3 else "",
    ))))


def _ink(colour: Colour) -> tuple[float, str]:
    """How dark a colour is, and, where it is no tint of black alone, what it is."""
    values = colour.values
    if colour.space.family == "Pattern":
        return 1.0, "in a pattern"
    if colour.space.family in ("Separation", "DeviceN"):
        name = ", ".join(colour.space.names)
        return (sum(values), "") if name == "Black" else (sum(values), f"in the ink '{name}'")
    if colour.space.family in ("Indexed", "Lab"):
        return 1.0, f"in a colour of the space {colour.space.family}"
    match values:
        case (grey,):
            return 1 - grey, ""
        case (red, green, blue):
            return 1 - (red + green + blue) / 3, "in colour" if max(values) - min(values) > _NEUTRAL else ""
        case (cyan, magenta, yellow, black):
            return cyan + magenta + yellow + black, "in colour" if max(cyan, magenta, yellow) > _NEUTRAL else ""
    return 1.0, f"in a colour of the space {colour.space.family}"


def _seen_through(paint: Paint) -> str:
    opacity = paint.opacity
    if opacity is None:
        return "behind a mask"
    return f"{100 * opacity:.0f} % opaque" if opacity < 1 - SAME_INK else ""


def _laid_over(style: Style, ink: float, stroked: bool) -> str:
    """Blending, and overprinting where that shows: what is solid black hides what lies below it either way."""
    if style.blending not in ("Normal", "Compatible"):
        return f"blended ({style.blending})"
    overprints = style.stroke_overprint if stroked else style.fill_overprint
    return "overprinting" if overprints and not 1 - SAME_INK <= ink < SECOND else ""
