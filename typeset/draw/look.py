"""How one grid is drawn, by what a layout says of puzzles and of answers."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.layouts.load import Layout
from cagework.solver.model import Cell
from cagework.typeset.draw.cages import DashFit, cage_fit, is_roomy, lighter_cage
from cagework.typeset.marks import Point

HAIR = 0.3
"""White between a sum and the heaviest line beside it, at the least, in pt."""
LEAST_NOTE = 5.5
"""The smallest type of a diagram, in pt."""
LEAST_CELL = 3.0
"""A cell narrower than this, in mm, holds no digit that can be read (common practice)."""
_UNDER_SUM = 1.0
"""By so much the letter of a step may be smaller than a sum, in pt."""
_LEAST_LINE = 0.25
"""Thinnest line on uncoated book paper, in pt (a book printer's published floor; a printer's own counts)."""


@dataclass(frozen=True, slots=True)
class GridLook:
    """How one grid is drawn: cell side, line weights and least sum size in pt.

    Without a sum size the cages are tinted, not outlined; `cages` says it of a grid with sums: dashed, tinted or
    both. `tints_regions` tints crooked regions beside the outlines. `least_gap` between dashes, `tinted_line` and
    the `least_note` of a diagram, all in pt, are what the paper holds. A diagram has a `house_line` round the
    houses of its argument and a `cause_line` round their cages. Numbers outside the frame stand only where they
    have a `margin`.
    """

    cell: float
    cell_line: float
    cage_line: float
    region_line: float
    frame_line: float
    least_label: float | None = 6.0
    digit_height: float = 0.46
    least_gap: float = 0.0
    tinted_line: float = 0.0
    least_note: float = LEAST_NOTE
    house_line: float = 0.0
    cause_line: float = 0.0
    tints_regions: bool = False
    cages: str = "dashed"
    margin: bool = False

    @property
    def summed(self) -> bool:
        """Whether sums stand in it."""
        return self.least_label is not None

    @property
    def overhang(self) -> float:
        """How far the frame's stroke reaches beyond the cells, in pt."""
        return self.frame_line / 2

    @property
    def dashes(self) -> DashFit:
        """How the cages' dashes are laid; where a gap must keep open, so must the white beside the frame."""
        inset = (self.frame_line + self.cage_line + self.least_gap) / 2 if self.least_gap else 0.0
        return cage_fit(self.cell, self.least_gap, inset)

    @property
    def step_letter(self) -> float:
        """The type of a step's letter, in pt: as small as a note may be, or by as much smaller than a sum as in
        the finest look.
        """
        return max(self.least_note, (self.least_label or 0.0) - _UNDER_SUM)

    @property
    def cause_inset(self) -> float:
        """How far from its cells' edges a cage of an argument is outlined, in pt: all that is heavier, inwards."""
        return self.dashes.inset + max(0.0, self.cause_line - self.cage_line) / 2

    def corner(self, cell: Cell, x: float, y: float) -> Point:
        """The top left of a cell, where that of r1c1 is at (x, y) pt."""
        return x + (cell.col - 1) * self.cell, y + (cell.row - 1) * self.cell


def puzzle_look(layout: Layout, cell: float) -> GridLook:
    """A grid to be solved in."""
    weights = layout.weights
    return GridLook(cell, weights.cell, lighter_cage(weights.cage, cell), weights.region, weights.frame,
                    least_label=layout.type.label, digit_height=0.46 if is_roomy(cell) else 0.42,
                    tints_regions=layout.regions == "tints", cages=layout.cages, margin=True)


def answer_look(layout: Layout, cell: float) -> GridLook:
    """A finished grid: lighter lines, cages as tints, no sums. With no dashes beside them, the lines of regions
    are lightened most.
    """
    def lighter(weight: float, share: float) -> float:
        return max(weight * share, _LEAST_LINE)

    weights = layout.weights
    return GridLook(cell, lighter(weights.cell, 2 / 3), lighter(weights.cage, 2 / 3),
                    lighter(weights.region, 1 / 2), lighter(weights.frame, 1 / 2), least_label=None,
                    digit_height=0.42)
