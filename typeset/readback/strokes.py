"""Stroked paths: each that is wanted is there once, as heavy, as dark and dashed as it should be."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cagework.typeset.marks import Point
from cagework.typeset.readback.areas import NEAR
from cagework.typeset.readback.misfit import Misfit, Pair, darkness_words, where
from cagework.typeset.readback.painted import SAME_INK
from cagework.typeset.readback.sides import Dashing, Path

SAME_WEIGHT = 0.02
"""Points by which a line's weight may be off."""

_SAME_DASH = 0.03
"""Points by which the lengths of a dash may be off."""

_ENDS = {0: "flat", 1: "round", 2: "square"}


def compare_paths(
    wanted: Sequence[Path], found: Sequence[Path], pairs: list[Pair],
) -> tuple[list[Misfit], list[Path], list[Path]]:
    """What does not fit of the paths that run alike; and those left over on either side, which may have been put
    together or taken apart. `pairs` takes what fits.
    """
    buckets: dict[tuple[int, int, int], list[Path]] = {}
    for path in found:
        buckets.setdefault(_key(path), []).append(path)
    told: list[Misfit] = []
    missed: list[Path] = []
    for due in wanted:
        there = min((one for one in _around(buckets, due) if _same_course(due.points, one.points)),
                    key=lambda one: (len(list(_unlike(due, one))), one.order), default=None)
        if there is None:
            missed.append(due)
            continue
        buckets[_key(there)].remove(there)
        pairs.append(Pair(due.order, there.order, there.box, False))
        told += [Misfit(*_spot(due), "lines", f"{_name(due)} {message}") for message in _unlike(due, there)]
    return told, missed, [path for some in buckets.values() for path in some]


def _spot(path: Path) -> Point:
    (x1, y1), (x2, y2) = path.points[:2]
    return (x1 + x2) / 2, (y1 + y2) / 2


def _name(path: Path) -> str:
    """A path that is wanted, in words."""
    what = "the outline" if path.points[0] == path.points[-1] else "the line"
    return f"{what}{f' ({path.group})' if path.group else ''} {where(*path.points[0])}"


def _key(path: Path) -> tuple[int, int, int]:
    """About where a path lies, and how many corners it has."""
    left, top, _, _ = path.box
    return len(path.points), round(left), round(top)


def _around(buckets: dict[tuple[int, int, int], list[Path]], due: Path) -> Iterable[Path]:
    corners, left, top = _key(due)
    return (one for over in (-1, 0, 1) for down in (-1, 0, 1)
            for one in buckets.get((corners, left + over, top + down), ()))


def _same_course(due: Sequence[Point], there: Sequence[Point]) -> bool:
    """Whether two paths run alike, a line from either end, a ring from its first corner."""
    return _together(due, there) or (len(due) == 2 and _together(due, there[::-1]))


def _together(due: Sequence[Point], there: Sequence[Point]) -> bool:
    return all(abs(x - u) <= NEAR and abs(y - v) <= NEAR for (x, y), (u, v) in zip(due, there, strict=True))


def _unlike(due: Path, there: Path) -> Iterator[str]:
    """In what a path is not as it should be."""
    if abs(due.weight - there.weight) > SAME_WEIGHT:
        yield f"is {there.weight:.2f} pt thick; it should be {due.weight:.2f} pt"
    if abs(due.look.ink - there.look.ink) > SAME_INK:
        yield f"is {darkness_words(there.look.ink)}; it should be {darkness_words(due.look.ink)}"
    if there.look.oddity:
        yield f"is {there.look.oddity}"
    if not _same_dash(due.dash, there.dash):
        yield f"is {_dash_words(there.dash)}; it should be {_dash_words(due.dash)}"
    if due.cap != there.cap and due.points[0] != due.points[-1]:
        yield f"has {_ENDS.get(there.cap, 'other')} ends; they should be {_ENDS[due.cap]}"
    if there.join != due.join and len(due.points) > 2:
        yield "has blunt corners; they should be sharp"
    if there.cut and not due.cut:
        yield "is cut off by a clip"


def _dash_words(dash: Dashing) -> str:
    lengths, _ = dash
    return f"dashed {' '.join(f'{length:.2f}' for length in lengths)}" if lengths else "solid"


def _same_dash(due: Dashing, there: Dashing) -> bool:
    (wanted, phase), (lengths, begun) = due, there
    if not wanted or not lengths:
        return not wanted and not lengths
    if len(lengths) == 1:
        lengths = lengths * 2
    if len(lengths) != len(wanted) or max(abs(a - b) for a, b in zip(wanted, lengths, strict=True)) > _SAME_DASH:
        return False
    period = sum(wanted)
    off = (phase - begun) % period
    return min(off, period - off) <= 5 * _SAME_DASH
