"""What the filling of columns found for a few blocks at a time, for when the same blocks come again."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from itertools import count
from typing import Any, TypeVar

from cagework.layouts.flow import Block

_Found = TypeVar("_Found")


class Remembered:
    """What one filling found, for the next: what neither needed goes."""

    def __init__(self) -> None:
        self._fresh = count()
        self._numbers: dict[Block, int] = {}
        self._last: dict[Hashable, Any] = {}
        self._now: dict[Hashable, Any] = {}

    def begin(self, blocks: Sequence[Block]) -> tuple[int, ...]:
        """Begin a filling: a number for each block, the same for those that are equal."""
        self._last, self._now = self._now, {}
        known, self._numbers = self._numbers, {}
        for block in blocks:
            if block not in self._numbers:
                self._numbers[block] = known[block] if block in known else next(self._fresh)
        return tuple([self._numbers[block] for block in blocks])

    def once(self, key: Hashable, make: Callable[[], _Found]) -> _Found:
        """What was made for a key, or else what `make` makes."""
        found: _Found | None = self._now.get(key)
        if found is None:
            found = self._last.get(key) or make()
            self._now[key] = found
        return found
