"""The tints of one grid: parts told apart in an answer or puzzle, a rule's cells, conclusions in a diagram."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import Expected
from cagework.typeset.readback.grid_area import GridArea

_SAME = 0.02
"""Inks that differ by less look alike."""

_DARK = 0.5
"""As much ink is no tint."""

_FIGURE = 0.5, 0.8
"""Where a cell's tint is looked at, in cells across and down: clear of its sum."""


def compare_tints(area: GridArea, wanted: Expected) -> Iterator[Difference]:
    """Where the tints of a grid are not what its cages or its rules ask for."""
    place, ink = area.place, _inks(area)
    if wanted.apart:
        for cell, message in _apart(wanted, ink):
            yield Difference(place.page, place.name, cell, message)
    else:
        giver = "conclusion" if place.shown.kind is GridKind.STAGE else "rule"
        for cell in wanted.puzzle.cells:
            if ink[cell] >= _DARK or (ink[cell] > _SAME) != (cell in wanted.tinted):
                yield Difference(place.page, place.name, cell, _tint(ink[cell], giver))


def _tint(ink: float, giver: str) -> str:
    if ink >= _DARK:
        return "it is black, and a reader cannot write in it"
    return f"it has a tint that no {giver} gives it" if ink > _SAME else f"its {giver}'s tint is missing"


def _inks(area: GridArea) -> dict[Cell, float]:
    """The ink of the last patch over each cell; 0 where there is none."""
    place = area.place
    ink = dict.fromkeys(place.shown.puzzle.cells, 0.0)
    for cell, patches in area.patches.items():
        left, top = place.corner(cell)
        x, y = left + _FIGURE[0] * place.cell, top + _FIGURE[1] * place.cell
        ink[cell] = next((patch.ink for patch in reversed(patches) if patch.holds(x, y)), 0.0)
    return ink


def _apart(wanted: Expected, ink: dict[Cell, float]) -> Iterator[tuple[Cell, str]]:
    """Cells of one cage or region that look different, and neighbours of two that look alike."""
    owner = {cell: number for number, cells in enumerate(wanted.apart) for cell in cells}
    part = "region" if wanted.apart == wanted.puzzle.own_regions else "cage"
    for cell in wanted.puzzle.cells:
        for near in (Cell(cell.row, cell.col + 1), Cell(cell.row + 1, cell.col)):
            if cell not in owner or near not in owner:
                continue
            alike = abs(ink[cell] - ink[near]) < _SAME
            if owner[cell] == owner[near] and not alike:
                yield cell, f"its tint is not that of {near}, though they share a {part}"
            elif owner[cell] != owner[near] and alike:
                yield cell, f"its tint is that of {near}, though they are in different {part}s"
