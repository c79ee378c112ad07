"""One grid as an SVG file of its own: a puzzle, its answer, or the cells at issue in one that is not sound."""

from __future__ import annotations

from collections.abc import Mapping

from cagework.layouts.load import Layout
from cagework.solver.model import Answer, Cell
from cagework.typeset.draw.clues import margin
from cagework.typeset.draw.grid import UNMARKED, draw_grid
from cagework.typeset.draw.look import GridLook, puzzle_look
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.entry import Entry
from cagework.typeset.marks import MM
from cagework.typeset.solving.diagnose import Diagnosis
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.svg import svg_text

_PAD = 3.0 * MM
"""White round the grid, in pt."""

_CELL = 13.0 * MM
"""The cell side of a diagnosis, in pt."""


def grid_svg(
    entry: Entry, look: GridLook, fonts: Fonts, description: str, answer: Answer | None = None,
    marked: Mapping[Cell, str] = UNMARKED,
) -> str:
    """A puzzle, or its answer, with 3 mm of white round it; `description` is what it shows, in words."""
    pad = _PAD + (margin(entry.rules) * look.cell if look.margin else 0.0)
    grid = draw_grid(entry.puzzle, entry.rules, look, fonts, pad, pad, answer, marked)
    squares = squares_of(entry.puzzle, summed=look.summed)
    width, height = (count * look.cell + 2 * pad for count in (squares.across, squares.down))
    return svg_text((grid,), width, height, fonts, entry.title or entry.id, description)


def diagnosis_svg(found: Diagnosis, layout: Layout, fonts: Fonts) -> str:
    """The puzzle with the cells at issue tinted and what may stand in each."""
    return grid_svg(found.entry, puzzle_look(layout, _CELL), fonts, " ".join(found.lines), marked=found.marked)
