"""What an editor chooses among on the command line, and in part in a manifest too: words, and nothing to load."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType


class Kind(StrEnum):
    """The kind of puzzle."""

    CAGES = "cages"
    CROSSING_SUMS = "crossing-sums"


class Stock(StrEnum):
    """The kind of paper."""

    COATED = "coated"
    UNCOATED = "uncoated"
    NEWSPRINT = "newsprint"


class Purpose(StrEnum):
    """What a file is for: a press, or reading on a screen."""

    PRESS = "press"
    SCREEN = "screen"


class SvgText(StrEnum):
    """How words stand in the SVG files."""

    OUTLINED = "outlined"    # glyphs as paths: no newsroom font can change them
    LIVE = "live"


SHEETS: Mapping[str, tuple[float, float]] = MappingProxyType({
    "a5": (210.0, 148.0), "a4": (297.0, 210.0), "a3": (420.0, 297.0), "a2": (594.0, 420.0),
    "letter": (279.4, 215.9), "legal": (355.6, 215.9), "tabloid": (431.8, 279.4),
})
"""Sheets lying on their long side: width and height in mm (ISO 216; ANSI/ASME Y14.1 A and B, and US legal)."""
