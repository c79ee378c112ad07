"""Lines by themselves: what they ink counts, not in how many pieces, from which end or in what words of PDF."""

from __future__ import annotations

from itertools import pairwise
from math import cos, radians, sin
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cagework.typeset.marks import Point
from cagework.typeset.readback.painted import Look
from cagework.typeset.readback.sides import Dashing, Path
from cagework.typeset.readback.stroke_pieces import compare_pieces
from cagework.typeset.readback.strokes import compare_paths

SOLID: Dashing = ((), 0.0)


def path(*points: Point, weight: float = 0.6, ink: float = 1.0, dash: Dashing = SOLID) -> Path:
    return Path(points, weight, Look(ink, ""), 0, dash, 0)


def told(wanted: list[Path], found: list[Path]) -> list[str]:
    return [one.message for one in compare_pieces(wanted, found, (), ())]


def along(start: Point, degrees: int, *lengths: float) -> list[Point]:
    """Points of a line at these distances from its start."""
    return [(start[0] + at * cos(radians(degrees)), start[1] + at * sin(radians(degrees))) for at in lengths]


PLACES = st.tuples(st.integers(20, 400), st.integers(20, 500))


@given(PLACES, st.integers(0, 359), st.lists(st.tuples(st.floats(1, 40), st.booleans()), min_size=1, max_size=5),
       st.randoms())
def test_a_line_in_pieces_is_the_line(
    start: Point, degrees: int, cuts: list[tuple[float, bool]], rng: Any,
) -> None:
    lengths = [sum(length for length, _ in cuts[:n]) for n in range(len(cuts) + 1)]
    points = along(start, degrees, *lengths)
    pieces = [path(*(ends[::-1] if turned else ends))
              for ends, (_, turned) in zip(pairwise(points), cuts, strict=True)]
    rng.shuffle(pieces)
    whole = [path(points[0], points[-1])]
    assert told(whole, pieces) == told(pieces, whole) == told(whole, [path(points[-1], points[0])]) == []


@pytest.mark.parametrize("degrees", [0, 30, 90, 135, 180, 250, 270])
def test_a_gap_is_told_from_either_side(degrees: int) -> None:
    first, second, third, last = along((200, 300), degrees, 0, 30, 40, 90)
    whole, parts = [path(first, last)], [path(last, third), path(first, second)]
    (missing,), (painted,) = told(whole, parts), told(parts, whole)
    assert missing.startswith("a line of 0.60 pt is missing, from ")
    assert painted.startswith("a line of 0.60 pt, ") and " is painted where nothing should, from " in painted


@pytest.mark.parametrize(("weight", "ink", "fits"), [
    (0.61, 1.0, True), (0.63, 1.0, False), (0.57, 1.0, False), (1.2, 1.0, False), (0.6, 0.5, False),
])
def test_a_line_of_another_weight_or_tint_is_another_line(weight: float, ink: float, fits: bool) -> None:
    due, there = [path((10, 10), (90, 10))], [path((10, 10), (90, 10), weight=weight, ink=ink)]
    assert len(told(due, there)) == (0 if fits else 2)


@pytest.mark.parametrize("phase", [0.0, 1.0, 4.0])
def test_dashes_painted_one_by_one_are_the_dashed_line(phase: float) -> None:
    """3 on and 2 off, begun at the phase (ISO 32000-1, 8.4.3.6), as a program that takes dashes apart has it."""
    dashed = path((50, 50), (50, 110), dash=((3.0, 2.0), phase))
    starts = [n * 5 - phase for n in range(14)]
    dashes = [path((50, 50 + max(at, 0.0)), (50, 50 + min(at + 3, 60.0))) for at in starts if -3 < at < 60]
    assert told([dashed], dashes) == told(dashes, [dashed]) == []
    assert told([dashed], dashes[:4] + dashes[5:]) != []
    for solid in ([path((50, 50), (50, 110))], [path((50, 110), (50, 50))]):
        assert told([dashed], solid) != [] != told(solid, [dashed])


@pytest.mark.parametrize(("dash", "fits"), [
    (((3.0, 3.0), 0.0), True), (((3.0,), 0.0), True), (((3.0,), 6.0), True), (((3.0, 3.0, 3.0, 3.0), 0.0), False),
    (((3.0,), 3.0), False), (((3.0, 2.0), 0.0), False), (((2.0,), 0.0), False), (SOLID, False),
])
def test_one_length_of_a_dash_is_on_and_off_alike(dash: Dashing, fits: bool) -> None:
    """ISO 32000-1, table 56: [3] is 3 on, 3 off."""
    due, there = path((10, 10), (90, 10), dash=((3.0, 3.0), 0.0)), path((10, 10), (90, 10), dash=dash)
    misfits, missed, left = compare_paths([due], [there], [])
    assert (len(misfits), missed, left) == (0 if fits else 1, [], [])


def test_a_dashed_line_of_a_length_that_only_damage_makes_is_no_hang() -> None:
    """A damaged number: a line to 10^12 points, which would have as many dashes."""
    far = path((0.0, 10.0), (1e12, 10.0), dash=((1.0, 1.0), 0.0))
    assert told([path((0.0, 10.0), (100.0, 10.0), dash=((1.0, 1.0), 0.0))], [far])
