"""A path under construction (ISO 32000-1, 8.5.2)."""

from __future__ import annotations

from dataclasses import dataclass, field

from cagework.typeset.marks import Point


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
