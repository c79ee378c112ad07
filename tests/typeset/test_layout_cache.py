"""What a laying-out leaves the next goes when the next does without it."""

from __future__ import annotations

from cagework.layouts.load import shelf_layout
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.text.fonts import Fonts


def test_columns_that_are_filled_no_more_are_forgotten() -> None:
    layout = shelf_layout("a4-two-up")
    fonts, cache = Fonts(layout), LayoutCache()

    def begin() -> None:
        cache.begin(layout, "en", fonts)

    begin()
    cache.kept("hints", 1, lambda: frozenset("a"))
    known = cache.filled("hints")
    begin()
    assert cache.filled("hints") is known
    begin()
    assert cache.filled("hints") is not known
