"""A path under construction (ISO 32000-1, 8.5.2)."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from cagework.typeset.marks import Point
from cagework.typeset.reader.geometry import UNMOVED, Matrix


@dataclass(slots=True)
class DrawnPath:
    """The path being built, in the page's space."""

    rings: list[list[Point]] = field(default_factory=list)
    clips: bool = False

    @property
    def ring(self) -> list[Point]:
        """The last ring, which goes on."""
        if not self.rings:
            self.rings.append([])
        return self.rings[-1]

    def close(self) -> None:
        """Lead the last ring back to where it began."""
        if self.rings and self.rings[-1]:
            self.rings[-1].append(self.rings[-1][0])

    def build(self, operator: str, operands: Any, matrix: Matrix) -> None:
        """Obey one of m, l, c, v, y, h, re, W and W*."""
        match operator:
            case "m":
                self.rings.append([_moved(operands, matrix)])
            case "l":
                self.ring.append(_moved(operands, matrix))
            case "c" | "v" | "y":
                self.ring.extend(_moved(operands[at:at + 2], matrix) for at in range(0, len(operands) - 1, 2))
            case "h":
                self.close()
            case "re":
                self.rings.append([matrix.at(x, y) for x, y in way_round(*map(float, operands))])
            case "W" | "W*":
                self.clips = True


def way_round(x: float, y: float, width: float, height: float) -> tuple[Point, ...]:
    """A rectangle's corners, as re leads round them and back (ISO 32000-1, table 59)."""
    right, top = x + width, y + height
    return (x, y), (right, y), (right, top), (x, top), (x, y)


def _moved(operands: Any, matrix: Matrix) -> Point:
    x, y = float(operands[0]), float(operands[1])
    return (x, y) if matrix is UNMOVED else matrix.at(x, y)
