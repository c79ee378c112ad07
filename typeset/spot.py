"""A second ink: a colour that has a plate of its own on the press, beside black."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SpotInk:
    """An ink by the name on its plate, and what stands for it on a proof: shares of solid cyan, magenta, yellow
    and black.
    """

    name: str
    cmyk: tuple[float, float, float, float]

    def rgb(self, tint: float = 1.0) -> tuple[float, float, float]:
        """A tint on a screen, each part from 0 to 1: the solid ink by the plain rule (ISO 32000-1, 10.3.5: an ink
        takes its opposite away, and black takes from all), and so much of the way to it from white.
        """
        cyan, magenta, yellow, black = self.cmyk
        return (1 - tint * min(1.0, cyan + black), 1 - tint * min(1.0, magenta + black),
                1 - tint * min(1.0, yellow + black))

    @property
    def darkness(self) -> float:
        """How dark it is when solid, from 0 (paper) to 1."""
        return 1 - sum(self.rgb()) / 3
