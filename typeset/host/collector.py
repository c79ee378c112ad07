"""Python's collector of unreachable cycles, told to look less often."""

from __future__ import annotations

import gc


def collect_seldom() -> None:
    """Let Python look for unreachable cycles less often: paths are many small objects that are all in use, and
    looking through them took a seventh of the time of solving and two thirds of that of reading the cache.
    """
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
