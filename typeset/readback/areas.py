"""Filled shapes: each that is wanted is there once, as dark as it should be, and no other is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cagework.typeset.marks import Point
from cagework.typeset.readback.misfit import Misfit, Pair, darkness_words, measures, middle
from cagework.typeset.readback.painted import SAME_INK, Look
from cagework.typeset.readback.sides import Area

NEAR = 0.25
"""Points by which a corner may be off (some 0.09 mm)."""

_THIN = 2.5
"""A filled rectangle thinner than this, in pt, may be a line: some programs write lines so."""


def compare_areas(
    wanted: Sequence[Area], found: Sequence[Area], pairs: list[Pair],
) -> tuple[list[Misfit], list[Area], list[Area]]:
    """What does not fit; and the thin areas left over on either side, which may be lines. `pairs` takes what does.
    """
    buckets: dict[tuple[int, int], list[Area]] = {}
    for area in found:
        box = area.box
        buckets.setdefault((round(box[0]), round(box[1])), []).append(area)
    told: list[Misfit] = []
    missed: list[Area] = []
    for due in wanted:
        there = min((one for one in _around(buckets, due) if _same_shape(due, one)),
                    key=lambda one: (_unlike(due, one), one.order), default=None)
        if there is None:
            missed.append(due)
            continue
        buckets[round(there.box[0]), round(there.box[1])].remove(there)
        pairs.append(Pair(due.order, there.order, there.box, True))
        told += [_misfit(due, f"{_name(due)} {message}") for message in _looks(due, there)]
    left = [area for some in buckets.values() for area in some]
    thin = [area for area in left if _is_thin(area)], [area for area in missed if _is_thin(area)]
    told += [_misfit(one, f"{_name(one)} is missing") for one in missed if not _is_thin(one)]
    told += [_misfit(one, f"an area of {measures(one.box)}, {_said(one.look)}, is painted where nothing should")
             for one in sorted(left, key=lambda one: one.order) if not _is_thin(one)]
    return told, thin[1], thin[0]


def _misfit(area: Area, message: str) -> Misfit:
    return Misfit(*middle(area.box), "areas", message)


def _name(area: Area) -> str:
    """An area that is wanted, in words."""
    return f"the area of {measures(area.box)}{f' ({area.group})' if area.group else ''},"


def _said(look: Look) -> str:
    return darkness_words(look.ink) + (f" and {look.oddity}" if look.oddity else "")


def _looks(due: Area, there: Area) -> Iterator[str]:
    if abs(due.look.ink - there.look.ink) > SAME_INK:
        yield f"is {darkness_words(there.look.ink)}; it should be {darkness_words(due.look.ink)}"
    if there.look.oddity:
        yield f"is {there.look.oddity}"
    if there.cut and not due.cut:
        yield "is cut off by a clip"


def _unlike(due: Area, there: Area) -> tuple[bool, bool]:
    return abs(due.look.ink - there.look.ink) > SAME_INK, bool(there.look.oddity)


def _around(buckets: dict[tuple[int, int], list[Area]], due: Area) -> Iterable[Area]:
    left, top = round(due.box[0]), round(due.box[1])
    return (one for over in (-1, 0, 1) for down in (-1, 0, 1)
            for one in buckets.get((left + over, top + down), ()))


def _same_shape(due: Area, there: Area) -> bool:
    """Whether the boxes are one, and every corner of either has one of the other's beside it."""
    if max(abs(one - other) for one, other in zip(due.box, there.box, strict=True)) > NEAR:
        return False
    mine = [point for ring in due.rings for point in ring]
    theirs = [point for ring in there.rings for point in ring]
    return _all_near(mine, theirs) and _all_near(theirs, mine)


def _all_near(points: Sequence[Point], others: Sequence[Point]) -> bool:
    return all(any(abs(x - u) <= NEAR and abs(y - v) <= NEAR for u, v in others) for x, y in points)


def _is_thin(area: Area) -> bool:
    left, top, right, bottom = area.box
    if len(area.rings) != 1 or min(right - left, bottom - top) > _THIN:
        return False
    return all(min(abs(x - left), abs(x - right)) < NEAR and min(abs(y - top), abs(y - bottom)) < NEAR
               for x, y in area.rings[0])
