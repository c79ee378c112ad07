"""What stands at the foot of a puzzle's place, where its grid leaves room: sums worth knowing, or lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cagework.layouts.page import Box
from cagework.solver.combine import combinations, digits_of
from cagework.solver.model import Puzzle
from cagework.typeset.book import Foot
from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import MM, Group, Line, Mark, Tag
from cagework.typeset.text.fonts import Fonts

_WAYS = 2
"""The most sets of digits that a sum worth knowing is made of."""

_LEADING = 1.45
"""From line to line of a table of sums, in ems."""

_APART, _WAYS_APART, _TRACKING = 2.2, 0.9, 0.12
"""Between columns, between sets of digits, and between the digits of a set, in ems."""

_LEAST_ROWS = 3
"""Room for fewer rows, the heads among them, spreads a table too thin to find anything in."""

_RULED = 7.0 * MM
"""From line to line of what is written on (common practice), in pt."""

_LEAST_RULED = 2

Ways = tuple[tuple[int, ...], ...]
"""The sets of digits that make a sum."""


def foot_marks(setting: Setting, room: Box, puzzle: Puzzle) -> tuple[Mark, ...]:
    """What the book wants under a puzzle, at the foot of some room in pt; nothing where that is too small."""
    match setting.book.foot:
        case Foot.SUMS:
            return _sums(setting, room, puzzle)
        case Foot.SCRATCH:
            return _lines(setting, room)
        case Foot.NONE:
            return ()


def sums_worth_knowing(puzzle: Puzzle, most: int = _WAYS) -> dict[int, tuple[tuple[int, Ways], ...]]:
    """The sums of a puzzle's cages that no more than so many sets of digits make, and the sets, by the number of
    cells; cages of one cell, or of as many as there are digits, leave nothing to know.
    """
    found: dict[int, dict[int, Ways]] = {}
    before = puzzle.least - 1
    for count, total in sorted({(len(cage.cells), cage.total) for cage in puzzle.cages if cage.total is not None}):
        ways = combinations(puzzle.size, count, total - before * count)
        if 1 < count < puzzle.size and len(ways) <= most:
            found.setdefault(count, {})[total] = tuple(
                tuple([before + digit for digit in digits_of(way)]) for way in ways)
    return {count: tuple(sums.items()) for count, sums in found.items()}


@dataclass(frozen=True, slots=True)
class _Column:
    """Some sums of one number of cells, under a head where it is the first; widths in pt."""

    head: str
    sums: tuple[tuple[int, Ways], ...]
    width: float


def _sums(setting: Setting, room: Box, puzzle: Puzzle) -> tuple[Mark, ...]:
    """The sums that one or two sets of digits make; those of one set alone, where there is no room for all."""
    size = setting.layout.type.small
    title = size * 1.8
    most = int((room.height - size - title) / (size * _LEADING)) + 1
    for ways in range(_WAYS, 0, -1):
        sums = sums_worth_knowing(puzzle, ways)
        if not sums or most < _LEAST_ROWS:
            continue
        rows = min(most, 1 + max(map(len, sums.values())))
        columns = list(_columns(setting, sums, rows))
        if sum(column.width for column in columns) + (len(columns) - 1) * _APART * size <= room.width:
            first = room.bottom - title - (rows - 1) * size * _LEADING
            return (_table(setting, columns, room.x, first, title),)
    return ()


def _columns(
    setting: Setting, sums: dict[int, tuple[tuple[int, Ways], ...]], rows: int,
) -> Iterator[_Column]:
    size, fonts = setting.layout.type.small, setting.fonts
    for count, found in sums.items():
        for first in range(0, len(found), rows - 1):
            head = "" if first else setting.words.sums_cells.format(count=count)
            part = found[first:first + rows - 1]
            widest = max(_width(fonts, ways, size) for _, ways in part)
            yield _Column(head, part, max(_tab(fonts, size) + widest, fonts.measure(head, "sans", size)))


def _tab(fonts: Fonts, size: float) -> float:
    """How far from the left the digits of a sum begin, in pt."""
    return fonts.measure("00", "sans-semibold", size) + 0.7 * size


def _digits(way: Sequence[int]) -> str:
    """A set of digits; apart where some have two figures."""
    return ("" if max(way) < 10 else " ").join(map(str, way))


def _width(fonts: Fonts, ways: Ways, size: float) -> float:
    said = [_digits(way) for way in ways]
    wide = sum(fonts.measure(one, "sans", size) + len(one) * _TRACKING * size for one in said)
    return wide + (len(said) - 1) * _WAYS_APART * size


def _table(setting: Setting, columns: Sequence[_Column], x: float, y: float, title: float) -> Mark:
    """The table, its title's baseline at `y` pt and the heads' as much as `title` pt below."""
    size, fonts = setting.layout.type.small, setting.fonts
    marks: list[Mark] = [fonts.left(x, y, setting.words.sums, "sans-semibold", size)]
    for column in columns:
        base = y + title
        if column.head:
            marks.append(fonts.left(x, base, column.head, "sans", size))
        low = base + 0.35 * size
        marks.append(Line(x, low, x + column.width, low, 0.5))
        for total, ways in column.sums:
            base += size * _LEADING
            at = x + _tab(fonts, size)
            marks.append(fonts.right(at - 0.7 * size, base, str(total), "sans-semibold", size))
            for way in ways:
                marks.append(fonts.left(at, base, _digits(way), "sans", size, tracking=_TRACKING * size))
                at += _width(fonts, (way,), size) + _WAYS_APART * size
        x += column.width + _APART * size
    return Group("foot", tuple(marks), Tag.PARAGRAPH)


def _lines(setting: Setting, room: Box) -> tuple[Mark, ...]:
    """Lines to work on, the last at the foot."""
    count = int(room.height / _RULED)
    if count < _LEAST_RULED:
        return ()
    heights = (room.bottom - number * _RULED for number in reversed(range(count)))
    weight = setting.layout.weights.cell
    return (Group("foot", tuple(Line(room.x, y, room.right, y, weight, ink=0.5) for y in heights)),)
