"""Crossing sums: black squares, and in the one before each run its sum, parted by a diagonal from that of another.

The sum of a run across stands above right of the diagonal, that of a run down below left, as is common practice.
They are dark on a tint: white type on ink has to be larger, and on newsprint much (`preflight/stocks.yaml`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from cagework.solver.model import Puzzle
from cagework.typeset.draw.look import HAIR, GridLook
from cagework.typeset.draw.squares import squares_of, sums_before
from cagework.typeset.marks import Fill, Line, Ring, Text, rectangle
from cagework.typeset.text.fonts import Fonts

TINT, BLACK = 0.2, 1.0
"""Ink under a sum, and where there is none."""

_TYPE = 0.36
"""The type of sums, in cells."""

_FACE = "sans-semibold"
_WIDEST = "44"
"""No sum is wider: nine digits add to 45."""

_BY_DIAGONAL = 2 + math.sqrt(2)
"""A box in the right angle of a triangle is as far from its three sides where what its width and height leave of a
leg is shared out by this.
"""


def black_squares(puzzle: Puzzle, look: GridLook, x: float, y: float) -> Iterator[Fill | Line]:
    """All that is no cell, black, or tinted under a sum, and the diagonals."""
    cells, sums = frozenset(puzzle.cells), sums_before(puzzle.cages) if look.summed else {}
    for square in squares_of(puzzle, summed=look.summed):
        if square in cells:
            continue
        ring = rectangle(*look.corner(square, x, y), look.cell, look.cell)
        before = sums.get(square, (None, None))
        if before == (None, None):
            yield Fill((ring,), BLACK)
            continue
        for half, total in zip(_halves(ring), before, strict=True):
            yield Fill((half,), BLACK if total is None else TINT)
        (left, top), _, (right, low), _ = ring
        yield Line(left, top, right, low, look.cell_line)


def _halves(ring: Ring) -> tuple[Ring, Ring]:
    """The triangles above right of a square's diagonal and below left."""
    first, second, third, fourth = ring
    return (first, second, third), (first, third, fourth)


def run_sums(puzzle: Puzzle, look: GridLook, fonts: Fonts, x: float, y: float) -> Iterator[Text]:
    """The sums, as far from the sides of their squares as from the diagonals."""
    size = _type_size(look, fonts)
    high, inset = fonts[_FACE].figure_height * size, _inset(look, fonts, size)
    for square, (across, down) in sums_before(puzzle.cages).items():
        left, top = look.corner(square, x, y)
        if across is not None:
            ink = fonts[_FACE].bounds(str(across), size)
            yield fonts.left(left + look.cell - inset - ink.right, top + inset + high, str(across), _FACE, size)
        if down is not None:
            ink = fonts[_FACE].bounds(str(down), size)
            yield fonts.left(left + inset - ink.left, top + look.cell - inset, str(down), _FACE, size)


def _type_size(look: GridLook, fonts: Fonts) -> float:
    """The type of the sums in pt: in proportion to the cell, and never less than the look's least."""
    return max(look.least_label or 0.0, min(_TYPE * look.cell, _fitting(look, fonts)))


def _fitting(look: GridLook, fonts: Fonts) -> float:
    """The largest type that stands clear of all lines, in pt."""
    return (look.cell - _BY_DIAGONAL * _clear(look)) / _width_and_height(fonts)


def least_square(look: GridLook, fonts: Fonts) -> float:
    """The side of a square, in pt, that holds sums in the least type of a look."""
    return (look.least_label or 0.0) * _width_and_height(fonts) + _BY_DIAGONAL * _clear(look)


def _inset(look: GridLook, fonts: Fonts, size: float) -> float:
    return (look.cell - size * _width_and_height(fonts)) / _BY_DIAGONAL


def _width_and_height(fonts: Fonts) -> float:
    """How wide and high the widest sum is, both together, in ems."""
    ink = fonts[_FACE].bounds(_WIDEST, 1.0)
    return ink.right - ink.left + fonts[_FACE].figure_height


def _clear(look: GridLook) -> float:
    """How far from the middle of the heaviest line beside it a sum stands at the least, in pt."""
    return max(look.frame_line, look.cell_line) / 2 + HAIR
