"""What stands on a press sheet outside the trim: crop marks, registration marks, the slug line.

There is one ink, so registration marks are black.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from babel.dates import format_date

from cagework.layouts.page import Box
from cagework.typeset.book import Book
from cagework.typeset.draw.crop import clear_of, crop_marks, reach_of
from cagework.typeset.draw.furniture import fitted
from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import MM, Group, Line, Mark, Outline, Page, Sheet
from cagework.typeset.words import locale_of

_EDGE = 2.0
"""Mm that stay clear at the sheet's edge."""

_APART = "  ·  "
"""Between the parts of the slug line."""

_RADIUS = 1.5
_ARM = 2.5
_SIDES = 48
"""A registration mark's circle and cross in mm, and the corners its circle is drawn with."""


@dataclass(frozen=True, slots=True)
class Outside:
    """How what stands outside the trim is drawn: line weight and type size in pt, as the stock holds them."""

    weight: float
    size: float


def sheet_of(book: Book) -> Sheet:
    """The sheet a book's pages are drawn on for a press."""
    press = book.press
    if not (press.marks or press.slug):
        return Sheet(press.bleed * MM, press.bleed * MM)
    return Sheet(press.bleed * MM, (reach_of(press.bleed) + _EDGE) * MM)


def outside_marks(setting: Setting, page: Page, number: int, look: Outside) -> tuple[Mark, ...]:
    """All that stands outside the trim of page `number`, in the page's own points."""
    press = setting.book.press
    clear = clear_of(press.bleed) * MM
    trim = Box(0.0, 0.0, page.width, page.height)
    marks: list[Mark] = []
    if press.marks:
        marks += [crop_marks(trim, press.bleed, weight=look.weight),
                  Group("registration-marks", tuple(_targets(page, clear, look.weight)))]
    if press.slug:
        marks.append(_slug(setting, page, number, look.size))
    return tuple(marks)


def _targets(page: Page, clear: float, weight: float) -> Iterator[Line | Outline]:
    out = clear + _ARM * MM
    radius, arm = _RADIUS * MM, _ARM * MM
    for x, y in ((page.width / 2, -out), (page.width / 2, page.height + out),
                 (-out, page.height / 2), (page.width + out, page.height / 2)):
        turns = (2 * math.pi * n / _SIDES for n in range(_SIDES))
        yield Outline((tuple((x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns),), weight)
        yield Line(x - arm, y, x + arm, y, weight)
        yield Line(x, y - arm, x, y + arm, weight)


def _slug(setting: Setting, page: Page, number: int, size: float) -> Group:
    """Title, page and date under the trim, between the left crop mark and the middle; the title is cut to fit."""
    title, rest, room = _slug_parts(setting, page.width, number, size)
    y = page.height + reach_of(setting.book.press.bleed) * MM - 1
    shown = fitted(setting, title, "sans", size, room) + rest
    return Group("slug", (setting.fonts.left(2 * MM, y, shown, "sans", size),))


def slug_is_cut(setting: Setting, number: int, look: Outside) -> bool:
    """Whether the slug line of page `number` has no room for the title, and cuts it short."""
    title, _, room = _slug_parts(setting, setting.layout.trim.width * MM, number, look.size)
    return setting.fonts.measure(title, "sans", look.size) > room


def _slug_parts(setting: Setting, width: float, number: int, size: float) -> tuple[str, str, float]:
    """The title in a slug line, what follows it, and the room there is for the title beside that, in pt."""
    book = setting.book
    rest = _APART + setting.words.puzzle_on.format(page=number)
    if book.press.date:
        rest += _APART + str(format_date(book.press.date, "long", locale=locale_of(book.language)))
    room = width / 2 - 2 * _ARM * MM - 2 * MM - setting.fonts.measure(rest, "sans", size)
    return book.head, rest, room
