"""Ruled pages for the reader's own notes."""

from __future__ import annotations

from cagework.layouts.page import Box
from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import MM, Group, Line, Mark, Tag

_APART = 8.0
"""Between lines, in mm: room for handwriting (common practice: 7 to 9 mm)."""


def ruled_page(setting: Setting, block: Box) -> tuple[Mark, ...]:
    """A heading and lines down to the foot of the text block."""
    size, weight = setting.layout.type.heading, setting.layout.weights.cell
    top = block.y + size * 0.86
    title = setting.fonts.left(block.x, top, setting.words.notes, setting.bold, size)
    marks: list[Mark] = [Group("title", (title,), Tag.HEADING)]
    count = int((block.bottom - top - size) / (_APART * MM))
    marks += [
        Line(block.x, block.bottom - n * _APART * MM, block.right, block.bottom - n * _APART * MM, weight)
        for n in reversed(range(count))
    ]
    return tuple(marks)
