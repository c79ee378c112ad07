"""What a file is held to: the purpose, the paper and its limits, and what the book is expected to be."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType

import yaml

from cagework.typeset.choices import Purpose, Stock


@dataclass(frozen=True, slots=True)
class Limits:
    """What a paper holds: sizes, lines and the gaps of dashes in pt, inks in percent, resolutions in pixels per
    inch, safety in mm.
    """

    line: float
    type: float
    reversed: float
    tint: float
    ink: float
    image: float
    line_art: float
    safety: float
    tinted_line: float
    gap: float


@dataclass(frozen=True, slots=True)
class Profile:
    """What a file is held to. What is None or 0 is not asked for; `safety_mm` None stands for the stock's own.

    `trim_mm` is (width, height); `multiple` what the page count must be a multiple of; `gutter_mm` the width to
    keep clear at the spine, which is left of odd pages and right of even ones; `spots` the inks besides gray and
    CMYK that have a plate.
    """

    purpose: Purpose = Purpose.PRESS
    stock: Stock = Stock.UNCOATED
    trim_mm: tuple[float, float] | None = None
    multiple: int = 0
    safety_mm: float | None = None
    gutter_mm: float = 0.0
    spots: frozenset[str] = frozenset()

    @property
    def limits(self) -> Limits:
        """The stock's limits."""
        return stock_limits()[self.stock]

    @property
    def safety(self) -> float:
        """How far inside the trim matter must stay, in mm."""
        return self.limits.safety if self.safety_mm is None else self.safety_mm


@functools.cache
def stock_limits() -> Mapping[Stock, Limits]:
    """Stock -> limits, from `stocks.yaml`, which names a source for each."""
    read = yaml.safe_load(files("cagework.typeset.preflight").joinpath("stocks.yaml").read_text(encoding="utf-8"))
    return MappingProxyType({
        Stock(name): Limits(**{key: float(entry["value"]) for key, entry in limits.items()})
        for name, limits in read.items()
    })
