"""Pictures of the publisher's own on a page: as large as they are asked for and their place has room."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.typeset.book import Illustration
from cagework.typeset.marks import MM, Group, Picture, Tag

_LEAST = 10 * MM
"""The lowest place that a picture is printed in; where there is less, it does not stand."""

_MARK = 25 * MM
"""The width of a publisher's mark where the manifest states none, and the greatest height of any."""


@dataclass(frozen=True, slots=True)
class Size:
    """In pt."""

    width: float
    height: float


def size_of(picture: Illustration, width: float, height: float) -> Size | None:
    """How large a picture is in a place of `width` x `height` pt; None where the place is too low for any."""
    if height < _LEAST:
        return None
    shape = picture.raster.height / picture.raster.width
    across = min(width, width if picture.width is None else picture.width * MM, height / shape)
    return Size(across, across * shape)


def mark_size(picture: Illustration, width: float) -> Size | None:
    """How large a publisher's mark is in a text block of `width` pt."""
    return size_of(picture, width if picture.width else min(width, _MARK), _MARK)


def hang(picture: Illustration, size: Size, x: float, y: float) -> Group:
    """A picture with its top left corner at (x, y) pt; mere decoration is not read aloud."""
    mark = Picture(x, y, size.width, size.height, picture.raster)
    return Group("picture", (mark,), Tag.FIGURE if picture.alt else None, picture.alt, picture)
