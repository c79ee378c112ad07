"""By how much a page was moved and scaled by a hair: some programs fit pages into their own paper sizes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from statistics import median

from cagework.typeset.marks import Point
from cagework.typeset.readback.sides import Fit, Side

_NEAR = 1.0
"""Points by which a place may have moved."""

_STILL = 0.05
"""Points that are not worth a fit."""

_HAIR = 0.003
"""The most by which a page may have been scaled."""


def fit_of(wanted: Side, found: Side) -> Fit:
    """How what was found lies over what was wanted, by the many things that can be told apart by their places."""
    near = _pairs(list(_points(wanted)), _points(found))
    if len(near) < 8 or median(max(abs(x - u), abs(y - v)) for (x, y), (u, v) in near) < _STILL:
        return Fit()
    across, right = _line([(due[0], there[0]) for due, there in near])
    down, below = _line([(due[1], there[1]) for due, there in near])
    if max(abs(across - 1), abs(down - 1)) > _HAIR or max(abs(right), abs(below)) > _NEAR:
        return Fit()
    return Fit(across, right, down, below)


def _points(side: Side) -> Iterator[Point]:
    for path in side.paths:
        yield from path.points[:2]
    for glyph in side.glyphs:
        yield glyph.left, glyph.base


def _pairs(wanted: Sequence[Point], found: Iterable[Point]) -> list[tuple[Point, Point]]:
    """Each found point with the nearest wanted one, where that is near."""
    buckets: dict[tuple[int, int], list[Point]] = {}
    for point in wanted:
        buckets.setdefault((round(point[0]), round(point[1])), []).append(point)
    pairs = []
    for x, y in found:
        around = [point for over in (-1, 0, 1) for down in (-1, 0, 1)
                  for point in buckets.get((round(x) + over, round(y) + down), ())]
        best = min(around, key=lambda point: (point[0] - x) ** 2 + (point[1] - y) ** 2, default=None)
        if best is not None and max(abs(best[0] - x), abs(best[1] - y)) <= _NEAR:
            pairs.append((best, (x, y)))
    return pairs


def _line(pairs: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The line nearest to some points, those far from it left out: its slope, and its height at nought."""
    kept = pairs
    slope, height = 1.0, 0.0
    for _ in range(3):
        count = len(kept)
        mean_x, mean_y = sum(x for x, _ in kept) / count, sum(y for _, y in kept) / count
        spread = sum((x - mean_x) ** 2 for x, _ in kept)
        slope = sum((x - mean_x) * (y - mean_y) for x, y in kept) / spread if spread > 1 else 1.0
        height = mean_y - slope * mean_x
        close = [(x, y) for x, y in pairs if abs(slope * x + height - y) < 0.15]
        if len(close) < 8:
            break
        kept = close
    return slope, height
