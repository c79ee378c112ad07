"""The inks of what is not one plain colour, images and shadings, each looked into once in a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain, islice, product
from typing import Any

from pypdf.generic import StreamObject

from cagework.typeset.reader.budget import FileBudget
from cagework.typeset.reader.colour import Colour, Inks, Space
from cagework.typeset.reader.functions import corners, read_function
from cagework.typeset.reader.image import MOST_BYTES, ink_shares
from cagework.typeset.reader.keys import look, numbers
from cagework.typeset.reader.paint import Paint, PaintKind

_COST = 100
"""Samples of an image that cost as much as one operation of a page."""

_VERTICES = 20_000
"""Corners of a mesh looked at, at the most."""


class Pictures:
    """Inks by share of the area; a source is kept, so that its id stays its own."""

    def __init__(self, budget: FileBudget) -> None:
        self._budget = budget
        self._found: dict[int, tuple[Any, Mapping[Inks, float]]] = {}

    def inks(self, paint: Paint) -> Mapping[Inks, float]:
        """Inks -> share of what a paint covers; empty where that is not known. TooMuchError where a file asks
        too much.
        """
        pictured = paint.kind in (PaintKind.IMAGE, PaintKind.SHADING)
        if not pictured or look(paint.source, "/ImageMask", False) is True:
            plain = paint.colour.inks
            return {} if plain is None else {plain: 1.0}
        source = paint.source
        if id(source) not in self._found:
            if paint.kind is PaintKind.IMAGE:
                pixels = float(look(source, "/Width", 1)) * float(look(source, "/Height", 1))
                size = pixels * paint.colour.space.count
                self._budget.spend(int(min(size, MOST_BYTES) / _COST))
                self._found[id(source)] = source, ink_shares(source, paint.colour.space)
            else:
                self._found[id(source)] = source, _shaded(source, paint.colour.space)
        return self._found[id(source)][1]


def _shaded(shading: Any, space: Space) -> Mapping[Inks, float]:
    """The inks a shading runs through, each counted alike."""
    try:
        colours = list(islice(_colours(shading, space), _VERTICES))
    except Exception:       # a shading that cannot be read paints nothing that could be told
        return {}
    found = {inks: 1.0 for colour in colours if (inks := Colour(space, colour).inks) is not None}
    return dict.fromkeys(found, 1 / max(len(found), 1))


def _colours(shading: Any, space: Space) -> Iterator[tuple[float, ...]]:
    """Colours along a shading (ISO 32000-1, 8.7.4.5)."""
    if background := numbers(look(shading, "/Background")):
        yield background
    function = look(shading, "/Function")
    kind = look(shading, "/ShadingType")
    if kind in (2, 3):
        made = read_function(function)
        ends = numbers(look(shading, "/Domain")) or (0.0, 1.0)
        yield from (made([x]) for x in chain(ends, corners(function)) if ends[0] <= x <= ends[1])
    elif kind == 1:
        left, right, low, top = numbers(look(shading, "/Domain")) or (0.0, 1.0, 0.0, 1.0)
        made = read_function(function)
        steps = [step / 16 for step in range(17)]
        yield from (made([left + (right - left) * x, low + (top - low) * y]) for x, y in product(steps, steps))
    elif isinstance(shading, StreamObject):
        count = 1 if function is not None else space.count
        tints = _mesh(shading, int(kind), count)
        yield from tints if function is None else map(read_function(function), tints)


def _mesh(shading: Any, kind: int, count: int) -> Iterator[tuple[float, ...]]:
    """The colours at the corners of a mesh (ISO 32000-1, 8.7.4.5.5 to 8.7.4.5.8)."""
    data = shading.get_data()
    place, shade = int(look(shading, "/BitsPerCoordinate")), int(look(shading, "/BitsPerComponent"))
    flagged = 0 if kind == 5 else int(look(shading, "/BitsPerFlag"))
    decode = numbers(look(shading, "/Decode"))[4:]
    ends = list(zip(decode[::2], decode[1::2], strict=True))
    at, total = 0, len(data) * 8
    while at + flagged + 2 * place + count * shade <= total:
        flag = _number(data, at, flagged) & 3
        points, corners_here = {4: (1, 1), 5: (1, 1), 6: (8, 2) if flag else (12, 4)}.get(
            kind, (12, 2) if flag else (16, 4))
        at += flagged + points * 2 * place
        for _ in range(corners_here):
            yield tuple(low + _number(data, at + n * shade, shade) * (high - low) / ((1 << shade) - 1)
                        for n, (low, high) in enumerate(ends[:count]))
            at += count * shade
        at = (at + 7) // 8 * 8


def _number(data: bytes, start: int, count: int) -> int:
    if not count:
        return 0
    first, last = start // 8, (start + count + 7) // 8
    return int.from_bytes(data[first:last].ljust(last - first, b"\0")) >> (last * 8 - start - count) & (
        (1 << count) - 1)
