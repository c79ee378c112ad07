"""The picture of a puzzle that a cover carries: which cages are lit, and what shows on which ground."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from shapely.geometry import Polygon
from shapely.ops import unary_union

from cagework.solver.model import Puzzle
from cagework.typeset.draw.artwork import draw_artwork
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Fill, Outline, flatten
from cagework.typeset.text.fonts import Fonts

SIDE = 360.0


@pytest.fixture(scope="module")
def puzzles(sample: Path) -> list[Puzzle]:
    book = load_book(sample).book
    assert book is not None
    return [entry.puzzle for entry in book.entries]


@pytest.mark.parametrize("ground", [0.1, 1.0])
def test_few_cages_are_lit_or_dim_and_none_touches_another(
    ground: float, puzzles: list[Puzzle], fonts: Fonts,
) -> None:
    """Of the cages up to a fifth are white, but at least one, and up to a third dim; those of one tint do not meet
    even at a corner.
    """
    for puzzle in puzzles:
        tinted: dict[float, list[Polygon]] = {}
        for mark in flatten((draw_artwork(puzzle, SIDE, ground, fonts, 0.0, 0.0),)):
            if isinstance(mark, Fill):
                area = unary_union([Polygon(ring) for ring in mark.rings])
                if area.area > 0.99 * (SIDE / puzzle.size) ** 2:    # no patch under a sum
                    tinted.setdefault(mark.ink, []).append(area)
        lit = tinted.pop(0.0)
        (dim,) = tinted.values()
        assert 1 <= len(lit) <= max(1, len(puzzle.cages) // 5)
        assert len(dim) <= len(puzzle.cages) // 3
        for areas in (lit, dim):
            assert all(one.distance(other) > 0 for one, other in combinations(areas, 2))


@pytest.mark.parametrize(("ground", "ink"), [(0.1, 1.0), (1.0, 0.0)])
def test_the_grid_is_framed_in_what_shows_on_its_ground(
    ground: float, ink: float, puzzles: list[Puzzle], fonts: Fonts,
) -> None:
    """Black on a pale ground and white on a dark one, right round the grid."""
    drawn = draw_artwork(puzzles[0], SIDE, ground, fonts, 20.0, 30.0)
    corners = {(20.0, 30.0), (20.0 + SIDE, 30.0), (20.0 + SIDE, 30.0 + SIDE), (20.0, 30.0 + SIDE)}
    frames = [mark for mark in flatten((drawn,))
              if isinstance(mark, Outline) and mark.dash is None and set(mark.rings[0]) == corners]
    assert [frame.ink for frame in frames] == [ink]
