"""The line under a puzzle: where its hints, its answer and its worked solution stand."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.layouts.page import Box
from cagework.typeset.book import AnswersAt
from cagework.typeset.draw.setting import PageNumbers, Setting, answer_anchor, hints_anchor, worked_anchor
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.marks import Group, Link, Mark, Tag

_APART = "·"
"""Stands between one place to turn to and the next."""


def turn_to(
    setting: Setting, pages: PageNumbers, entry: Entry, slot: Box, right: float, y: float,
) -> tuple[Group, tuple[Link, ...]]:
    """The line with its baseline at `y`, ranged right at `right`, in pt, and a link on each of its places; without
    any where the answer stands on the page and there is nothing else to turn to.
    """
    fonts, size = setting.fonts, setting.layout.type.small
    said = [(words, anchor) for words, anchor in _places(setting, pages, entry) if anchor in pages.of]
    space, dot = fonts.measure(" ", "sans", size), fonts.measure(_APART, "sans", size)
    widths = [fonts.measure(words, "sans", size) for words, _ in said]
    x = max(slot.x, right - sum(widths) - (len(said) - 1) * (dot + 2 * space))
    marks: list[Mark] = []
    links: list[Link] = []
    for (words, anchor), width in zip(said, widths, strict=True):
        if marks:
            marks.append(fonts.left(x + space, y, _APART, "sans", size))
            x += dot + 2 * space
        marks.append(fonts.left(x, y, words, "sans", size))
        links.append(Link(x, y - size, width, size * 1.3, anchor, words))
        x += width
    return Group("turn-to", tuple(marks), Tag.PARAGRAPH), tuple(links)


def _places(setting: Setting, pages: PageNumbers, entry: Entry) -> Iterator[tuple[str, str]]:
    """What the line says, each with the spot it names; of a draft's puzzle, spots may be missing."""
    words = setting.words
    hints, worked = setting.book.pages.first_hints, entry.solutions is not Solutions.NONE
    elsewhere = setting.book.answers is not AnswersAt.PAGE
    if elsewhere and not hints and not worked:
        yield words.answer_on.format(page=pages.answer(entry.id)), answer_anchor(entry.id)
        return
    due = (("hints", hints, hints_anchor), ("answer", elsewhere, answer_anchor), ("worked", worked, worked_anchor))
    for key, stands, anchor_of in due:
        if stands:
            anchor = anchor_of(entry.id)
            yield words.turn_to[key].format(page=pages.of.get(anchor, "")), anchor
