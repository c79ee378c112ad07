"""A puzzle as a picture: its cages large, some of them lit, on a dark ground or a pale one."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.model import Cage, Cell, Puzzle
from cagework.typeset.draw.cages import cage_fit, inset_ring, outline, rings
from cagework.typeset.draw.grid import cell_lines, draw_grid, figures_in_cell, region_lines
from cagework.typeset.draw.labels import SumLabels, cage_label
from cagework.typeset.draw.look import GridLook
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.marks import Fill, Group, Mark, Outline, rectangle
from cagework.typeset.text.fonts import Fonts

_CELL_INK, _REGION_INK = 0.6, 0.45
"""Ink of the grid's lines, which show on a dark ground, a pale one and on lit cages alike."""
_DIM = {False: 0.22, True: 0.8}
"""Ink of the cages that are neither lit nor of the ground's ink, on a pale ground and on a dark one."""
_LIT_SHARE = 5
"""One cage in so many is lit, if they can be kept apart."""


def draw_artwork(puzzle: Puzzle, side: float, ground: float, fonts: Fonts, x: float, y: float) -> Group:
    """The puzzle `side` pt wide at (x, y), with its sums and givens, on a ground of `ground` ink already there.

    Lit cages are white, their lines black. Others have the ground's ink or a little less, and lines white on a
    dark ground. Crossing sums are as they are printed, on white.
    """
    squares = squares_of(puzzle)
    cell = side / squares.most
    look = GridLook(cell, 0.014 * cell, 0.03 * cell, 0.045 * cell, 0.045 * cell, least_label=0.245 * cell)
    if puzzle.shape is not None:
        white = Fill((rectangle(x, y, squares.across * cell, squares.down * cell),), 0.0)
        return Group("artwork", (white, draw_grid(puzzle, (), look, fonts, x, y)))
    fit = cage_fit(cell)
    labels = fonts.once(SumLabels, look, fit)
    tints = _tints(puzzle.cages, ground)
    marks: list[Mark] = [
        Fill(tuple(inset_ring(ring, cell, 0.0, x, y) for ring in rings(cage.cells)), tint)
        for cage, tint in zip(puzzle.cages, tints, strict=True) if tint != ground
    ]
    frame = rectangle(x, y, side, side)
    marks += [line._replace(ink=_CELL_INK) for line in cell_lines(frame, squares, look)]
    marks += [line._replace(ink=_REGION_INK) for line in region_lines(puzzle, look, x, y)]
    marks.append(Outline((frame,), look.frame_line, _on(ground)))
    for cage, tint in zip(puzzle.cages, tints, strict=True):
        marks.append(outline(cage.cells, cell, fit, x, y, look.cage_line, _on(tint)))
        if cage.total is not None:
            patch, text = cage_label(cage, tint, labels, x, y)
            marks += [patch, text._replace(ink=_on(tint))]
    under = {cell: tint for cage, tint in zip(puzzle.cages, tints, strict=True) for cell in cage.cells}
    for given in puzzle.givens:
        text = figures_in_cell(given.cell, str(given.digit), look.digit_height, look, fonts, x, y, "sans-semibold")
        marks.append(text._replace(ink=_on(under.get(given.cell, ground))))
    return Group("artwork", tuple(marks))


def _on(tint: float) -> float:
    """The ink of lines and figures on a tint."""
    return 0.0 if tint > 0.5 else 1.0


def _tints(cages: Sequence[Cage], ground: float) -> tuple[float, ...]:
    """A tint for each cage: lit ones far apart, and those next to none of the other dim ones dim."""
    lit = _scattered(cages, set(), max(1, len(cages) // _LIT_SHARE))
    dim = _scattered(cages, lit, len(cages) // 3)
    return tuple(0.0 if n in lit else _DIM[ground > 0.5] if n in dim else ground for n in range(len(cages)))


def _scattered(cages: Sequence[Cage], taken: set[int], count: int) -> set[int]:
    """Up to `count` cages, no two of which touch, each as far as can be from those before it."""
    chosen: list[int] = []
    rest = [n for n in range(len(cages)) if n not in taken]
    while rest and len(chosen) < count:
        best = max(rest, key=lambda n: (min((_apart(cages[n], cages[m]) for m in chosen), default=0.0),
                                        len(cages[n].cells), -n))
        chosen.append(best)
        rest = [n for n in rest if n != best and not _touch(cages[n], cages[best])]
    return set(chosen)


def _touch(one: Cage, other: Cage) -> bool:
    return any(abs(a.row - b.row) <= 1 and abs(a.col - b.col) <= 1 for a in one.cells for b in other.cells)


def _apart(one: Cage, other: Cage) -> float:
    (a, b), (c, d) = _middle(one.cells), _middle(other.cells)
    return (a - c) ** 2 + (b - d) ** 2


def _middle(cells: Sequence[Cell]) -> tuple[float, float]:
    return sum(cell.row for cell in cells) / len(cells), sum(cell.col for cell in cells) / len(cells)
