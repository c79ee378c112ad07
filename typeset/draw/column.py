"""Running matter as a column: headings, paragraphs, figures and tables that flow over pages. Lengths are pt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from cagework.layouts.flow import Block, Placed
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.marks import Group, Mark, Tag
from cagework.typeset.text.paragraph import Style, prose_style, set_paragraph

_HAIR = 1e-6

Drawer = Callable[[PageNumbers, float, float, int, int], tuple[Mark, ...]]
"""(page numbers, x, y, first line, last line) -> marks, y at the top of the first line (pt)."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One block of a column: its measures for the flow, how to draw some of its lines, and what they are to a
    reader who hears them; None where the marks say so themselves. `anchor` is the name of the spot it begins, if
    any.
    """

    block: Block
    draw: Drawer
    tag: Tag | None = Tag.PARAGRAPH
    anchor: str = ""


def paragraph(
    setting: Setting, text: str, measure: float, before: float = 0.0, indent: bool = False,
    size: float | None = None, keep: bool = False, lead: str = "", gives: int = 0, most: int = 0,
) -> Piece:
    """A paragraph of running text, after a `lead` in bold, if any; the space over it `gives` lines, at the `most`
    so many.
    """
    style = prose_style(setting.layout, setting.book.language, size)
    if lead:
        style, text = replace(style, emphasis=setting.bold), f"*{lead}.* {text}"
    lines = set_paragraph(text, style, measure, setting.fonts, style.size if indent else 0.0)
    drop = baseline(style)

    def draw(_pages: PageNumbers, x: float, y: float, first: int, last: int) -> tuple[Mark, ...]:
        return tuple(
            run for index in range(first, last)
            for run in lines[index].marks(x, y + (index - first) * style.leading + drop)
        )

    return Piece(Block(len(lines), style.leading, before, keep, gives=gives, most=most), draw)


def baseline(style: Style) -> float:
    """From the top of a line to its baseline, in pt."""
    return style.leading - (style.leading - style.size) / 2 - 0.2 * style.size


def whole_lines(height: float, line: float) -> float:
    """A height as the whole lines that hold it, in pt as they are."""
    return ceil(height / line - _HAIR) * line


def heading(setting: Setting, text: str | Sequence[tuple[str, str]], measure: float, size: float, before: float,
            after: float, tag: Tag = Tag.HEADING, line: float = 0.0) -> Piece:
    """A heading, a text or runs of (text, face), that stays with what follows; where a `line` is given, it takes
    whole ones.
    """
    lines = setting.display(text, setting.bold, size, measure)
    leading = size * 1.12
    high = len(lines) * leading + after
    if line:
        high = max(whole_lines(len(lines) * leading, line), whole_lines(high - line / 2, line))

    def draw(_pages: PageNumbers, x: float, y: float, _first: int, _last: int) -> tuple[Mark, ...]:
        return tuple(
            run for index, line in enumerate(lines)
            for run in line.marks(x, y + index * leading + size * 0.86)
        )

    return Piece(Block(1, high, before, keep=True, gives=1, most=2), draw, tag)


def solid(height: float, draw: Callable[[PageNumbers, float, float], tuple[Mark, ...]], before: float = 0.0,
          keep: bool = False, tag: Tag | None = Tag.PARAGRAPH, wide: bool = False,
          floats: bool = False, gives: int = 0, most: int = 0) -> Piece:
    """A figure or a table row: one thing that is never divided."""
    block = Block(1, height, before, keep, wide, floats, gives=gives, most=most)
    return Piece(block, lambda pages, x, y, _first, _last: draw(pages, x, y), tag)


def draw_column(
    pieces: Sequence[Piece], column: Sequence[Placed], pages: PageNumbers, x: float, y: float,
) -> tuple[Mark, ...]:
    """One filled column, its top-left corner at (x, y)."""
    marks: list[Mark] = []
    for part in column:
        piece = pieces[part.block]
        drawn = piece.draw(pages, x, y + part.y, part.first, part.last)
        marks += drawn if piece.tag is None else (Group("piece", drawn, piece.tag),)
    return tuple(marks)
