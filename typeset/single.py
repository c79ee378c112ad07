"""One grid as an SVG file of its own."""

from __future__ import annotations

from collections.abc import Mapping

from cagework.solver.model import Answer, Cell
from cagework.typeset.book import Entry
from cagework.typeset.draw.grid import UNMARKED, Look, draw_grid
from cagework.typeset.marks import MM
from cagework.typeset.svg import svg_text
from cagework.typeset.text import Fonts

_PAD = 3.0 * MM
"""White round the grid, in pt."""


def grid_svg(
    entry: Entry, look: Look, fonts: Fonts, description: str, answer: Answer | None = None,
    marked: Mapping[Cell, str] = UNMARKED,
) -> str:
    """A puzzle, or its answer, with 3 mm of white round it; `description` is what it shows, in words."""
    grid = draw_grid(entry.puzzle, entry.rules, look, fonts, _PAD, _PAD, answer, marked)
    side = entry.puzzle.size * look.cell + 2 * _PAD
    return svg_text((grid,), side, side, fonts, entry.title, description)
