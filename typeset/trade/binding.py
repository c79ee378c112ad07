"""How a book is bound, in figures: paper, leaves, spine, and the cover's flat sheet."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType

import yaml

from cagework.layouts.page import Box

SPINE_FOR_TEXT_MM = 6.35
"""The narrowest spine that takes text: 0.25 in (info.bookmobile.com, type on spines)."""
FOLD_DRIFT_MM = 1.6
"""How far a fold may miss its line; spine text keeps that clear on either side (common practice: 1/16 in)."""


@functools.cache
def papers() -> Mapping[str, float]:
    """Paper -> thickness of a leaf in mm, from `papers.yaml`, which names a source for each."""
    read = yaml.safe_load(files(__package__).joinpath("papers.yaml").read_text(encoding="utf-8"))
    return MappingProxyType({name: float(entry["caliper"]) for name, entry in read.items()})


def spine_mm(pages: int, caliper: float, allowance: float) -> float:
    """The width of a glued spine: two pages to a leaf, `caliper` mm each, and what cover and glue add."""
    return -(-pages // 2) * caliper + allowance


@dataclass(frozen=True, slots=True)
class Flat:
    """A cover laid flat, outside up: back, spine, front, from the trim's top left corner, all in one unit."""

    width: float
    height: float
    spine: float

    @property
    def trim(self) -> Box:
        """The whole cover as it is cut."""
        return Box(0.0, 0.0, 2 * self.width + self.spine, self.height)

    @property
    def back(self) -> Box:
        """The back panel."""
        return Box(0.0, 0.0, self.width, self.height)

    @property
    def edge(self) -> Box:
        """The spine."""
        return Box(self.width, 0.0, self.spine, self.height)

    @property
    def front(self) -> Box:
        """The front panel."""
        return Box(self.width + self.spine, 0.0, self.width, self.height)
