"""What annotations paint over a page (ISO 32000-1, 12.5.5)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from pypdf.generic import DictionaryObject, StreamObject

from cagework.typeset.reader.geometry import UNMOVED, Matrix, box_round
from cagework.typeset.reader.keys import each, look, numbers

_HIDDEN, _PRINT, _NO_VIEW = 2, 4, 32
"""Flags of an annotation (ISO 32000-1, table 165)."""


class Appearance(NamedTuple):
    """A form an annotation paints, where it goes, its layer, and whether it shows nowhere."""

    form: StreamObject
    matrix: Matrix
    layer: Any
    hidden: bool


def appearances(page: DictionaryObject) -> Iterator[Appearance]:
    """The normal appearances of a page's annotations, in order."""
    for note in each(look(page, "/Annots")):
        form = look(look(note, "/AP"), "/N")
        if isinstance(form, DictionaryObject) and not isinstance(form, StreamObject):
            form = look(form, look(note, "/AS", "/Off"))
        if isinstance(form, StreamObject):
            flags = int(look(note, "/F", 0))
            hidden = bool(flags & _HIDDEN) or (bool(flags & _NO_VIEW) and not flags & _PRINT)
            yield Appearance(form, _placed(form, numbers(look(note, "/Rect"))), look(note, "/OC"), hidden)


def _placed(form: StreamObject, rect: tuple[float, ...]) -> Matrix:
    """What lays a form's box, moved by its own matrix, on the annotation's rectangle (algorithm 8.1)."""
    edges, own = numbers(look(form, "/BBox")), numbers(look(form, "/Matrix"))
    if len(edges) != 4 or len(rect) != 4:
        return UNMOVED
    matrix = Matrix(*own[:6]) if len(own) >= 6 else UNMOVED
    box = box_round(matrix.at(x, y) for x in edges[::2] for y in edges[1::2])
    into = box_round((rect[:2], rect[2:]))
    if not box.width or not box.height:
        return UNMOVED
    across, up = into.width / box.width, into.height / box.height
    return Matrix(across, 0.0, 0.0, up, into.left - box.left * across, into.low - box.low * up)
