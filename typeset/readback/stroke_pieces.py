"""Lines that were taken apart or put together: the same stretches must be inked, and no others.

Some programs paint dashes one by one, join lines that meet, or fill thin rectangles for lines.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from math import hypot
from typing import NamedTuple

from cagework.typeset.marks import Point
from cagework.typeset.readback.areas import NEAR
from cagework.typeset.readback.misfit import Misfit, darkness_words, where
from cagework.typeset.readback.painted import SAME_INK, Look
from cagework.typeset.readback.sides import Area, Path
from cagework.typeset.readback.strokes import SAME_WEIGHT

_SHORT = 0.4
"""Points of a line, besides half its weight at corners and ends, that may be lost or added unseen."""

_MOST_DASHES = 10_000
"""A line of more dashes is none of ours, and taken for solid: damage makes lines of any length."""

_Key = tuple[int, int, int]
"""The way a line runs, in whole degrees, and how far from the corner of the page it passes, in points."""


class _Piece(NamedTuple):
    """An inked stretch of a straight line: the way it runs (a unit vector), how far from the origin its line
    passes, and from where to where along it.
    """

    way: Point
    off: float
    start: float
    end: float
    weight: float
    look: Look
    group: str

    def at(self, along: float) -> Point:
        """A place on it."""
        return along * self.way[0] - self.off * self.way[1], along * self.way[1] + self.off * self.way[0]


def compare_pieces(
    wanted: Sequence[Path], found: Sequence[Path], thin_wanted: Sequence[Area], thin_found: Sequence[Area],
) -> Iterator[Misfit]:
    """The stretches of lines that are missing, and those that are too many."""
    due, there = list(_pieces(wanted, thin_wanted)), list(_pieces(found, thin_found))
    for piece, start, end in _uncovered(due, there):
        group = f" ({piece.group})" if piece.group else ""
        yield _told(piece, start, end, f"a line{group} of {piece.weight:.2f} pt is missing")
    for piece, start, end in _uncovered(there, due):
        look = darkness_words(piece.look.ink) + (f" and {piece.look.oddity}" if piece.look.oddity else "")
        yield _told(piece, start, end, f"a line of {piece.weight:.2f} pt, {look}, is painted where nothing should")


def _told(piece: _Piece, start: float, end: float, said: str) -> Misfit:
    (x1, y1), (x2, y2) = piece.at(start), piece.at(end)
    return Misfit((x1 + x2) / 2, (y1 + y2) / 2, "lines", f"{said}, from {where(x1, y1)} to {where(x2, y2)}")


def _pieces(paths: Iterable[Path], areas: Iterable[Area]) -> Iterator[_Piece]:
    for path in paths:
        walked = 0.0
        for begin, end in pairwise(path.points):
            length = hypot(end[0] - begin[0], end[1] - begin[1])
            for start, stop in _inked(path, walked, length):
                yield _piece(begin, end, start, stop, path.weight, path.look, path.group)
            walked += length
    for area in areas:
        left, top, right, bottom = area.box
        if right - left > bottom - top:
            middle, weight = (top + bottom) / 2, bottom - top
            yield _piece((left, middle), (right, middle), 0.0, right - left, weight, area.look, area.group)
        else:
            middle, weight = (left + right) / 2, right - left
            yield _piece((middle, top), (middle, bottom), 0.0, bottom - top, weight, area.look, area.group)


def _inked(path: Path, walked: float, length: float) -> Iterator[tuple[float, float]]:
    """The inked stretches of a side, from its beginning; `walked` of the path lie before it."""
    lengths, phase = path.dash
    if len(lengths) % 2:
        lengths = lengths * 2
    if not lengths or sum(lengths) < 0.01 or not length or length > _MOST_DASHES * sum(lengths):
        yield (0.0, length)
        return
    period = sum(lengths)
    at = -((walked + phase) % period)
    while at < length:
        for index, step in enumerate(lengths):
            if index % 2 == 0 and at + step > 0 and at < length:
                yield max(at, 0.0), min(at + step, length)
            at += step


def _piece(begin: Point, end: Point, start: float, stop: float, weight: float, look: Look, group: str) -> _Piece:
    """A stretch of the line from one point to another, told the same whichever end comes first."""
    across, down = end[0] - begin[0], end[1] - begin[1]
    length = hypot(across, down)
    way = (across / length, down / length) if length else (1.0, 0.0)
    if way[0] < -1e-6 or (abs(way[0]) <= 1e-6 and way[1] < 0):
        way = -way[0], -way[1]
        begin, start, stop = end, length - stop, length - start
    along = begin[0] * way[0] + begin[1] * way[1]
    off = begin[1] * way[0] - begin[0] * way[1]
    return _Piece(way, off, along + start, along + stop, weight, look, group)


def _key(piece: _Piece) -> _Key:
    return round(100 * piece.way[0]), round(100 * piece.way[1]), round(piece.off)


def _uncovered(due: Sequence[_Piece], there: Sequence[_Piece]) -> Iterator[tuple[_Piece, float, float]]:
    """Stretches of some pieces that no like piece of the others covers."""
    buckets: Mapping[_Key, list[_Piece]] = _bucketed(there)
    for piece in due:
        slack = _SHORT + piece.weight / 2
        reached = piece.start
        for start, end in sorted(_over(piece, buckets)):
            if start - reached > slack:
                break
            reached = max(reached, end)
        if piece.end - reached > slack or (piece.end - piece.start <= slack and reached == piece.start
                                           and not list(_over(piece, buckets))):
            yield piece, reached, piece.end


def _bucketed(pieces: Iterable[_Piece]) -> dict[_Key, list[_Piece]]:
    buckets: dict[_Key, list[_Piece]] = defaultdict(list)
    for piece in pieces:
        buckets[_key(piece)].append(piece)
    return buckets


def _over(piece: _Piece, buckets: Mapping[_Key, list[_Piece]]) -> Iterator[tuple[float, float]]:
    """From where to where pieces of the same weight and look lie on the line of another."""
    way, down, off = _key(piece)
    for turn in (-1, 0, 1):
        for tilt in (-1, 0, 1):
            for by in (-1, 0, 1):
                for other in buckets.get((way + turn, down + tilt, off + by), ()):
                    if other.end >= piece.start - NEAR and other.start <= piece.end + NEAR and _like(piece, other):
                        yield other.start, other.end


def _like(one: _Piece, other: _Piece) -> bool:
    middle = (max(one.start, other.start) + min(one.end, other.end)) / 2
    (x, y), (u, v) = one.at(middle), other.at(middle)
    return (abs(x - u) <= NEAR and abs(y - v) <= NEAR and abs(one.weight - other.weight) <= SAME_WEIGHT
            and abs(one.look.ink - other.look.ink) <= SAME_INK and one.look.oddity == other.look.oddity)
