"""Python's collector of unreachable cycles, told to look less often."""

from __future__ import annotations

import gc


def collect_seldom() -> None:
    """Let Python look for unreachable cycles less often: paths are many small objects that are all in use, and
    looking through them took a seventh of the time of solving and two thirds of that of reading the cache. What
    lives no longer than a few pages is not looked at; all is, as often as one allocation in eight million.
    """
    gc.freeze()
    gc.set_threshold(200_000, 10, 4)
