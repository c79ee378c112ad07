"""What laying out a book leaves behind, so that laying it out again after a small change is quick."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar, cast

from cagework.layouts.flow import Filled
from cagework.layouts.load import Layout
from cagework.layouts.remembered import Remembered
from cagework.typeset.draw.column import Piece
from cagework.typeset.text.fonts import Fonts

Pieces = tuple[Piece, ...]
Made = TypeVar("Made", Pieces, frozenset[str], Filled)


@dataclass(slots=True)
class LayoutCache:
    """What stands in the columns of one book, where these end, and the ways of reasoning it tells, kept by name
    beside what they were made of.

    What is kept never changes: a piece is handed the page numbers each time it is drawn.
    """

    _ground: tuple[Layout, str, Fonts] | None = None
    _kept: dict[str, tuple[object, Pieces | frozenset[str] | Filled]] = field(default_factory=dict)
    _used: set[str] = field(default_factory=set)
    _filled: dict[str, Remembered] = field(default_factory=dict)

    def begin(self, layout: Layout, language: str, fonts: Fonts) -> None:
        """Start anew: what is set in another layout, language or face goes, and what the last plan did not use."""
        if self._ground != (layout, language, fonts):
            self._kept.clear()
            self._filled.clear()
        self._ground = (layout, language, fonts)
        self._kept = {name: kept for name, kept in self._kept.items() if name in self._used}
        self._filled = {name: known for name, known in self._filled.items() if name in self._used}
        self._used = set()

    def kept(self, name: str, of: object, make: Callable[[], Made]) -> Made:
        """What is kept under a name where it was made of the same; else what `make` makes."""
        self._used.add(name)
        known = self._kept.get(name)
        if known is None or known[0] != of:
            known = self._kept[name] = (of, make())
        return cast(Made, known[1])

    def filled(self, name: str) -> Remembered:
        """What was found when the columns of a name were filled the last time."""
        return self._filled.setdefault(name, Remembered())
