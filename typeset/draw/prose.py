"""The prose of a publisher's own pages as a column: headings, paragraphs, items of lists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest

from cagework.layouts.flow import Block
from cagework.typeset.book import TextPage
from cagework.typeset.draw.column import Piece, baseline, heading, solid, whole_lines
from cagework.typeset.draw.illustration import hang, size_of
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.marks import Group, Mark, Tag
from cagework.typeset.prose import Look, ProseBlock, ProseKind
from cagework.typeset.text.paragraph import SetLine, Style, prose_style, set_paragraph

_BULLET = "•"
_SHARE = 0.6
"""Of a page's height, the most that a picture with text below it may take."""

_FEW, _SUNK = 0.15, 0.25
"""Of a page's height, what some words without a title, head and number take at most to be sunk, and how far."""

_SIZES = {ProseKind.HEADING: 0.8, ProseKind.SUBHEADING: 0.65}
"""Shares of the layout's headings; the second is never smaller than running text."""


def prose_pieces(setting: Setting, page: TextPage) -> tuple[Piece, ...]:
    """The title, the picture and the text, whichever there are."""
    kind = setting.layout.type
    rest = (*_picture(setting, page), *_text(setting, page, bool(page.title)))
    if not page.title:
        return (*_sinking(setting, page, rest), *rest)
    title = heading(setting, page.title, setting.measure, kind.heading, 0, kind.heading * 0.7, line=kind.leading)
    return title, *rest


def _sinking(setting: Setting, page: TextPage, rest: Sequence[Piece]) -> Iterator[Piece]:
    """White over a few words that have a page to themselves, a dedication, say."""
    height = setting.block(1).height
    if not page.numbered and 0.0 < sum(piece.block.lines * piece.block.leading for piece in rest) < _FEW * height:
        yield solid(_SUNK * height, lambda *_: (), tag=None)


def _picture(setting: Setting, page: TextPage) -> Iterator[Piece]:
    """A page's picture, as wide as its text; alone it has all the page."""
    if not (picture := page.picture):
        return
    block, kind = setting.block(1), setting.layout.type
    room = block.height * (_SHARE if page.blocks else 1.0) - (kind.heading * 4 if page.title else 0.0)
    size = size_of(picture, setting.measure if page.blocks else block.width, room)
    if size is None:
        return

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        return (hang(picture, size, x, y),)

    high = whole_lines(size.height + kind.leading / 2, kind.leading) if page.blocks else size.height
    yield solid(high, draw, keep=bool(page.blocks), tag=None)


def _text(setting: Setting, page: TextPage, titled: bool) -> Iterator[Piece]:
    """Headings are one level down under a title; the first line of a paragraph is set in where it follows one, and
    the end of one that leads to a list stays with it.
    """
    before: ProseKind | None = None
    room = _room_for_labels(setting, page)
    for block, after in zip_longest(page.blocks, page.blocks[1:]):
        if block.kind is ProseKind.ITEM:
            yield _item(setting, block, room, again=before is ProseKind.ITEM)
        elif block.kind is ProseKind.PARAGRAPH:
            gap = setting.layout.type.leading if before is ProseKind.ITEM else 0.0
            leads = after is not None and after.kind is ProseKind.ITEM
            yield _paragraph(setting, block, gap, indent=before is ProseKind.PARAGRAPH, keep=leads)
        else:
            yield _heading(setting, block, titled, first=before is None)
        before = block.kind


def _runs(setting: Setting, block: ProseBlock, style: Style) -> list[tuple[str, str]]:
    faces = {Look.PLAIN: style.face, Look.ITALIC: style.emphasis or style.face, Look.BOLD: setting.bold}
    return [(span.text, faces[span.look]) for span in block.spans]


def _heading(setting: Setting, block: ProseBlock, titled: bool, first: bool) -> Piece:
    kind = setting.layout.type
    size = max(kind.body, kind.heading * _SIZES[block.kind])
    tags = (Tag.HEADING, Tag.SUBHEADING, Tag.MINOR)
    return heading(setting, [(block.text, setting.bold)], setting.measure, size, 0.0 if first else kind.leading,
                   size * 0.4, tags[titled + (block.kind is ProseKind.SUBHEADING)], kind.leading)


def _paragraph(setting: Setting, block: ProseBlock, before: float, indent: bool, keep: bool) -> Piece:
    style = prose_style(setting.layout, setting.book.language)
    lines = set_paragraph(_runs(setting, block, style), style, setting.measure, setting.fonts,
                          style.size if indent else 0.0)
    return Piece(Block(len(lines), style.leading, before, keep),
                 lambda _pages, x, y, first, last: _drawn(lines[first:last], style, x, y))


def _item(setting: Setting, block: ProseBlock, room: float, again: bool) -> Piece:
    """An item of a list, its bullet or number ranged right before the text, which is set in by `room` pt."""
    style = prose_style(setting.layout, setting.book.language)
    lines = set_paragraph(_runs(setting, block, style), style, setting.measure - room, setting.fonts)
    label, name = _label(block), "bullet" if block.number is None else "number"

    def draw(_pages: PageNumbers, x: float, y: float, first: int, last: int) -> tuple[Mark, ...]:
        said = Group("item", _drawn(lines[first:last], style, x + room, y), Tag.ITEM)
        if first:
            return (said,)
        at = setting.fonts.right(x + room - _gap(style), y + baseline(style), label, style.face, style.size)
        return (Group(name, (at,), Tag.LABEL), said)

    before = 0.0 if again else setting.layout.type.leading
    return Piece(Block(len(lines), style.leading, before), draw, None)


def _room_for_labels(setting: Setting, page: TextPage) -> float:
    """How far the text of a page's items is set in, in pt: all alike, past the widest number."""
    style = prose_style(setting.layout, setting.book.language)
    labels = [_label(block) for block in page.blocks if block.kind is ProseKind.ITEM]
    widest = max((setting.fonts.measure(label, style.face, style.size) for label in labels), default=0.0)
    return widest + _gap(style) + style.size * 0.4


def _label(block: ProseBlock) -> str:
    return _BULLET if block.number is None else f"{block.number}."


def _gap(style: Style) -> float:
    return style.size * 0.5


def _drawn(lines: tuple[SetLine, ...], style: Style, x: float, y: float) -> tuple[Mark, ...]:
    return tuple(run for index, line in enumerate(lines)
                 for run in line.marks(x, y + index * style.leading + baseline(style)))
