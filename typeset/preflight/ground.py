"""What lies under what: the ink below white type, and the inks that overprinting piles up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from cagework.typeset.preflight.rule import printed
from cagework.typeset.reader.colour import Inks
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.paint import Paint, PaintKind

_BELOW = 500
"""Things remembered as lying below; a page with more is dense enough to have ink anywhere."""

_SAME = 1.0
"""Points by which the boxes of two things differ, at the most, that are one shape printed twice."""


def on_ink(paints: Sequence[Paint], wanted: Sequence[Paint]) -> list[Paint]:
    """Those of the wanted that lie on something inked: white on white is not seen. In the order of painting."""
    left = {id(paint) for paint in wanted}
    below: list[Rectangle] = []
    found: list[Paint] = []
    for paint in paints if left else ():
        if id(paint) in left:
            if paint.tiled or len(below) > _BELOW or any(box.meets(paint.box) for box in below):
                found.append(paint)
        elif paint.kind is not PaintKind.TEXT and printed(paint):
            below.append(paint.box)
    return found


class Pile(NamedTuple):
    """Inks together where something overprints; `twice` where it is one shape printed again."""

    paint: Paint
    inks: Inks
    twice: bool


def overprints(paint: Paint) -> bool:
    """Whether a paint leaves what is below it."""
    stroked = paint.kind is PaintKind.STROKE or (paint.kind is PaintKind.TEXT and paint.style.render % 4 == 1)
    return paint.style.stroke_overprint if stroked else paint.style.fill_overprint


def piles(paints: Sequence[Paint]) -> Iterator[Pile]:
    """Where inks pile up by overprinting (ISO 32000-1, 8.6.7): in a space of named inks those not named stay, and
    in DeviceCMYK those of no amount where the mode is 1. DeviceGray knocks out.
    """
    if not any(map(overprints, paints)):
        return
    below: list[tuple[Rectangle, Inks]] = []
    for paint in paints:
        inks = paint.colour.inks
        if inks is None or paint.tiled or paint.kind in (PaintKind.IMAGE, PaintKind.SHADING):
            continue
        if _leaves(paint):
            for box, under in reversed(below):
                if box.meets(paint.box.grown(1e-3)):
                    together = _together(inks, under)
                    yield Pile(paint, together, box.holds(paint.box, _SAME) and paint.box.holds(box, _SAME))
                    inks = together
                    break
        below.append((paint.box, inks))
        del below[:-_BELOW]


def _leaves(paint: Paint) -> bool:
    match paint.colour.space.family:
        case "Separation" | "DeviceN":
            return overprints(paint)
        case "DeviceCMYK" | "ICCBased":
            return overprints(paint) and paint.style.overprint_mode == 1
    return False


def _together(over: Inks, under: Inks) -> Inks:
    made = [mine or theirs for mine, theirs in zip(over, under, strict=True)]
    return made[0], made[1], made[2], made[3]
