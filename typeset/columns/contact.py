"""The contact sheet: every date with its slots side by side, small, on A4 pages for the editor."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from cagework.layouts.flow import chunks
from cagework.typeset.columns.fit import Fitted
from cagework.typeset.columns.issue import Phrases
from cagework.typeset.columns.series import Series
from cagework.typeset.draw.furniture import grade_mark, grade_width
from cagework.typeset.marks import MM, Fill, Mark, Outline, Page, rectangle, scaled
from cagework.typeset.text.fonts import Fonts

_WIDE, _HIGH = 210.0 * MM, 297.0 * MM       # A4 (ISO 216)
_EDGE, _GAP, _HEAD = 12.0 * MM, 5.0 * MM, 14.0 * MM
_DATE, _NOTE = 8.0, 6.5                     # pt
_CAPTION = 3.2 * _NOTE
_LARGEST = 0.4
"""The largest scale of a slot: a page shows a week or more of the usual two slots."""


def contact_pages(series: Series, fitted: Sequence[Fitted], phrases: Phrases, fonts: Fonts) -> tuple[Page, ...]:
    """All dates in order, as many to a page as there is room for, every slot to one scale."""
    days = [list(group) for _, group in groupby(fitted, key=lambda one: one.issue.day.date)]
    first = days[0]
    gap = 2.0 * MM
    wide = sum(one.page.width for one in first)
    high = max(one.page.height for one in first)
    across = max(1, int((_WIDE - 2 * _EDGE + _GAP) / (_LARGEST * wide + gap * (len(first) - 1) + _GAP)))
    cell = (_WIDE - 2 * _EDGE - (across - 1) * _GAP) / across
    room = _HIGH - 2 * _EDGE - _HEAD
    scale = min(_LARGEST, (cell - gap * (len(first) - 1)) / wide, (room - _CAPTION) / high)
    tall = scale * high + _CAPTION + _DATE + _GAP
    down = max(1, int((room + _GAP) / tall))
    pages = chunks(len(days), across * down)
    return tuple(
        Page(_WIDE, _HIGH, (
            *_head(series, days, phrases, fonts, number, len(pages)),
            *(mark for place, index in enumerate(page) for mark in _date(
                days[index], phrases, fonts, scale, gap, _EDGE + place % across * (cell + _GAP),
                _EDGE + _HEAD + place // across * tall, cell)),
        ))
        for number, page in enumerate(pages, 1)
    )


def _head(
    series: Series, days: Sequence[Sequence[Fitted]], phrases: Phrases, fonts: Fonts, number: int, pages: int,
) -> Iterator[Mark]:
    first, last = (phrases.date(day[0].issue.day.date) for day in (days[0], days[-1]))
    yield fonts.left(_EDGE, _EDGE + 12, series.title, "serif-semibold", 14)
    yield fonts.left(_EDGE, _EDGE + 24, f"{first} – {last}", "sans", 8)
    yield fonts.right(_WIDE - _EDGE, _EDGE + 12, f"{number} / {pages}", "sans", 8)


def _date(
    day: Sequence[Fitted], phrases: Phrases, fonts: Fonts, scale: float, gap: float, x: float, y: float,
    room: float,
) -> Iterator[Mark]:
    """One date: its name, each slot as it will be printed, and what an editor has to know of it."""
    issue = day[0].issue
    number = phrases.words.columns.number.format(number=issue.day.number)
    said = f"{phrases.date(issue.day.date, short=True)} · {number}"
    yield fonts.left(x, y + _DATE, said, "sans-semibold", _DATE)
    end = x + room
    if (grade := issue.puzzles[0].entry.grade) is not None:
        yield grade_mark(grade, end - grade_width(_DATE), y + _DATE, _DATE)
        if grade is not issue.day.grade:
            wanted = f"({phrases.words.grades[issue.day.grade]})"
            yield fonts.right(end - grade_width(_DATE) - 3, y + _DATE, wanted, "sans", _NOTE)
    top = y + _DATE + 4
    at = x
    for one in day:
        wide, high = scale * one.page.width, scale * one.page.height
        box = rectangle(at, top, wide, high)
        yield Fill((box,), 0.0)
        yield from (scaled(mark, scale, at, top) for mark in one.page.marks)
        yield Outline((box,), 0.3, ink=0.5)
        base = top + high + 1.25 * _NOTE
        yield fonts.left(at, base, _cut(fonts, one.issue.slot.name, wide), "sans", _NOTE)
        note = f"– {', '.join(one.dropped)}" if one.dropped else ""
        if note:
            yield fonts.left(at, base + 1.15 * _NOTE, _cut(fonts, note, wide), "sans-semibold", _NOTE)
        at += wide + gap


def _cut(fonts: Fonts, text: str, width: float) -> str:
    """As much of a caption as its slot is wide."""
    while len(text) > 1 and fonts.measure(text, "sans-semibold", _NOTE) > width:
        text = text[:-2] + "…"
    return text
