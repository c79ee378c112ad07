"""Pictures: each that is wanted is there once, in its place, whole, and shows what it should."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from PIL import Image, ImageChops, ImageStat

from cagework.typeset.marks import Point
from cagework.typeset.raster import Raster
from cagework.typeset.readback.misfit import Box, Misfit, Pair, measures, middle
from cagework.typeset.reader.image import is_exact, levels
from cagework.typeset.reader.paint import Paint

_NEAR = 0.25
"""Points by which a corner may be off (some 0.09 mm)."""

_ROUNDED = 3
"""Levels of 255 by which a pixel may be off that was written anew in another colour space."""

_COARSE = 48
"""Pictures packed with losses, or of other pixels, are held against each other in so many parts a side."""

_PART, _WHOLE = 24, 4
"""Levels by which one such part may be off, and all of them on the average."""


class PlacedPicture(NamedTuple):
    """A picture's corners, clockwise from its top left; the one that is asked for, or the one that is painted,
    then with what sets its looks off and whether a clip hides some of it.
    """

    corners: Sequence[Point]
    order: int
    raster: Raster | None = None
    paint: Paint | None = None
    oddity: str = ""
    cut: bool = False

    @property
    def box(self) -> Box:
        """The box round its corners."""
        xs, ys = [x for x, _ in self.corners], [y for _, y in self.corners]
        return min(xs), min(ys), max(xs), max(ys)


def compare_pictures(
    wanted: Sequence[PlacedPicture], found: Sequence[PlacedPicture], pairs: list[Pair],
) -> Iterator[Misfit]:
    """What does not fit; `pairs` takes what does."""
    left = list(found)
    for due in wanted:
        box = due.box
        near = [one for one in left if _apart(due.corners, one.corners) < _NEAR]
        if not near:
            yield Misfit(*middle(box), "pictures", f"the picture of {measures(box)}, is missing")
            continue
        there = min(near, key=lambda one: abs(one.order - due.order))
        left.remove(there)
        wrong = "is cut off" if there.cut else f"is {there.oddity}" if there.oddity else ""
        if not wrong and due.raster and there.paint and not shows(due.raster, there.paint):
            wrong = "is another picture"
        if wrong:
            yield Misfit(*middle(box), "pictures", f"the picture of {measures(box)}, {wrong}")
        else:
            pairs.append(Pair(due.order, there.order, box, True))
    for one in left:
        said = f"a picture of {measures(one.box)}, stands where nothing should"
        yield Misfit(*middle(one.box), "pictures", said)


def _apart(one: Sequence[Point], other: Sequence[Point]) -> float:
    return max(max(abs(x - u), abs(y - v)) for (x, y), (u, v) in zip(one, other, strict=True))


def shows(raster: Raster, paint: Paint) -> bool:
    """Whether an image is the picture asked for: pixel by pixel where it was kept as it was, else part by part."""
    read = levels(paint.source, paint.colour.space)
    if read is None:
        return False
    there = Image.frombytes("L", read[:2], read[2])
    mode = "1" if raster.bits == 1 else "L"
    due = Image.frombytes(mode, (raster.width, raster.height), raster.samples).convert("L")
    if due.size == there.size and is_exact(paint.source):
        return _most(ImageChops.difference(due, there)) <= _ROUNDED
    size = min(_COARSE, due.width, there.width), min(_COARSE, due.height, there.height)
    off = ImageChops.difference(due.resize(size, Image.Resampling.BOX), there.resize(size, Image.Resampling.BOX))
    return _most(off) <= _PART and ImageStat.Stat(off).mean[0] <= _WHOLE


def _most(off: Image.Image) -> int:
    """The highest level of a grey picture."""
    return int(ImageStat.Stat(off).extrema[0][1])
