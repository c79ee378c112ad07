"""How a rule looks on the grid, in cell units: the corner of r1c1 is (0, 0), x right, y down.

A figure knows no points and no ink. Its role names the look; `typeset.draw` decides the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cagework.solver.model import Cell

Point = tuple[float, float]
"""(x, y) in cells from the grid's top-left corner."""


class Role(StrEnum):
    """What a figure is for."""

    FIELD = "field"      # a tint over whole cells: these belong together
    LINE = "line"        # a fine line under the digits


@dataclass(frozen=True, slots=True)
class Tint:
    """Whole cells laid under a tint."""

    cells: tuple[Cell, ...]
    role: Role = Role.FIELD


@dataclass(frozen=True, slots=True)
class Stroke:
    """An open polyline."""

    points: tuple[Point, ...]
    role: Role = Role.LINE


Figure = Tint | Stroke
