"""Whether a book's own page has room for what stands on it: a file that shows it faithfully is no better."""

from __future__ import annotations

from collections.abc import Iterable

from cagework.typeset.draw.labels import sums_have_room
from cagework.typeset.draw.look import LEAST_CELL, puzzle_look
from cagework.typeset.draw.setting import Setting
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.marks import MM, Group, Mark, Page, Text
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.misfit import Box
from cagework.typeset.text.fonts import Fonts

_SLACK = 1.0
"""Points by which letters may stand out of the type area: side bearings and rounding."""

_TURNED = 180.0
"""The angle of what stands on its head."""

_IN_MARGIN = frozenset({"folio", "running-head", "tab"})
"""Groups that stand outside the type area on purpose."""


def is_crowded(number: int, page: Page, places: Iterable[GridPlace], setting: Setting) -> bool:
    """Whether letters stand out of the type area of page `number`, or a grid is too small to be filled in
    or for its sums.
    """
    block = setting.block(number)
    room = block.x - _SLACK, block.y - _SLACK, block.right + _SLACK, block.bottom + _SLACK
    return (any(place.cell < LEAST_CELL * MM or not _holds_sums(place, setting) for place in places)
            or _runs_over(page.marks, room, setting.fonts))


def _holds_sums(place: GridPlace, setting: Setting) -> bool:
    return place.shown.kind is not GridKind.PUZZLE or sums_have_room(
        place.shown.puzzle, puzzle_look(setting.book.layout_of(place.shown.id), place.cell), setting.fonts)


def _runs_over(marks: Iterable[Mark], room: Box, fonts: Fonts) -> bool:
    for mark in marks:
        if isinstance(mark, Group) and mark.name not in _IN_MARGIN:
            if _runs_over(mark.marks, room, fonts):
                return True
        elif isinstance(mark, Text) and not _inside(mark, room, fonts):
            return True
    return False


def _inside(text: Text, room: Box, fonts: Fonts) -> bool:
    left, top, right, bottom = room
    start, last = text.chunks[-1] if text.chunks else (0.0, "")
    width = start + fonts.measure(last, text.face, text.size, text.tracking)
    begin = text.x - width if text.angle == _TURNED else text.x
    return left <= begin and begin + width <= right and top <= text.y <= bottom
