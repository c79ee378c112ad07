"""The sums of cages, each in the corner of its first cell, and what room they leave there."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.solver.model import Cage, Cell, Puzzle
from cagework.typeset.draw.cages import DashFit
from cagework.typeset.draw.crossing import least_square
from cagework.typeset.draw.look import HAIR, GridLook
from cagework.typeset.marks import Fill, Text, rectangle
from cagework.typeset.text.fonts import Fonts

CLEAR = 0.5
"""White between a sum and a digit under it, in pt."""
_CORNER = 1 / 8
"""The share of its cell within which a sum begins: further in it is in no corner."""


def label_size(look: GridLook) -> float:
    """The type size of the sums, in pt: in proportion to the cell, never under the layout's least."""
    return max(look.least_label or 0.0, 0.235 * look.cell)


@dataclass(frozen=True, slots=True)
class _Label:
    """A sum in its cell, in pt: a patch `clear` of the edges, and the text, its ink `inset` and `rise` high."""

    clear: float
    width: float
    height: float
    inset: float
    bearing: float
    rise: float
    chunks: tuple[tuple[float, str], ...]
    face: str
    size: float


class SumLabels(dict[int | None, _Label]):
    """The sums of grids of one look and with one fit of dashes, each laid out when it is first asked for."""

    def __init__(self, fonts: Fonts, look: GridLook, fit: DashFit) -> None:
        self._fonts, self.look, self.fit = fonts, look, fit

    def __missing__(self, total: int | None) -> _Label:
        text, look, fit = str(total), self.look, self.fit
        face, size = self._fonts["sans-semibold"], label_size(look)
        ink = face.bounds(text, size)
        inset = _sum_inset(look)
        rise = face.figure_height * size
        clear = max(look.region_line, look.frame_line) / 2 + 0.1
        pad = 0.3 * fit.pitch
        right = fit.clear_of(inset + ink.right - ink.left + pad)
        bottom = fit.clear_of(inset + rise + pad)
        found = self[total] = _Label(clear, right - clear, bottom - clear, inset, ink.left, rise,
                                     face.chunks(text, size), face.name, size)
        return found


def cage_label(
    cage: Cage, shade: float, labels: SumLabels, x: float, y: float, *, bent: bool = False,
) -> tuple[Fill, Text]:
    """A sum, its ink where the outline's corner would be, over a patch that ends in the middle of a gap."""
    label, look = labels[cage.total], labels.look
    left, top = look.corner(cage.first, x, y)
    ring = rectangle(left + label.clear, top + label.clear, label.width, label.height)
    if bent:
        (x0, y0), _, (x1, y1), _ = ring
        within = labels.fit.inset + look.cage_line / 2 + HAIR
        inner_x, inner_y = left + within, top + within
        ring = ((x0, y0), (x1, y0), (x1, inner_y), (inner_x, inner_y), (inner_x, y1), (x0, y1))
    patch = Fill((ring,), shade)
    return patch, Text(left + label.inset - label.bearing, top + label.inset + label.rise, label.chunks,
                       label.face, label.size)


def _sum_inset(look: GridLook) -> float:
    """How far from the top and left of its cell a sum stands, in pt: in its cage's corner, clear of all lines."""
    return max(look.dashes.inset - look.cage_line / 2, max(look.frame_line, look.house_line) / 2 + HAIR)


def sum_foot(look: GridLook, fonts: Fonts) -> float:
    """How far below the top of its cell a sum ends, in pt."""
    return _sum_inset(look) + fonts["sans-semibold"].figure_height * label_size(look)


def sum_figures(puzzle: Puzzle) -> int:
    """How many figures the longest sum in a puzzle's cells has; 0 where there is none."""
    if puzzle.shape is not None:
        return 0
    return max((len(str(cage.total)) for cage in puzzle.cages if cage.total is not None), default=0)


def sum_end(look: GridLook, fonts: Fonts, figures: int) -> float:
    """How far from the left of its cell a sum of so many figures ends, in pt."""
    ink = fonts["sans-semibold"].bounds("4" * figures, label_size(look))    # the widest figure
    return _sum_inset(look) + ink.right - ink.left


def sums_have_room(puzzle: Puzzle, look: GridLook, fonts: Fonts) -> bool:
    """Whether sums begin in the corners of their cells and end within them, and givens have room under them."""
    if puzzle.shape is not None:
        return look.cell >= least_square(look, fonts)
    figures = sum_figures(puzzle)
    given = not summed_cells(puzzle).isdisjoint(given.cell for given in puzzle.givens)
    under = CLEAR + look.digit_height * look.cell if given else 0.0
    return not figures or (_sum_inset(look) <= _CORNER * look.cell and sum_end(look, fonts, figures) <= look.cell
                           and sum_foot(look, fonts) + under <= look.cell)


def summed_cells(puzzle: Puzzle) -> frozenset[Cell]:
    """The cells that have a sum in their corner: those of runs stand in squares before them."""
    cages = puzzle.cages if puzzle.shape is None else ()
    return frozenset(cage.first for cage in cages if cage.total is not None)
