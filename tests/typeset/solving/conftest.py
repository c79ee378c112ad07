"""The sample's puzzles."""

from __future__ import annotations

from typing import Any

import pytest

from cagework.typeset.book import Entry


@pytest.fixture(scope="module")
def entries(built: Any) -> list[Entry]:
    return list(built.book.entries)
