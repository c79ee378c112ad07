"""The sample's puzzles."""

from __future__ import annotations

from pathlib import Path

import pytest

from cagework.typeset.entry import Entry
from cagework.typeset.manifest.load import load_book


@pytest.fixture(scope="module")
def entries(sample: Path) -> list[Entry]:
    book = load_book(sample).book
    assert book is not None
    return list(book.entries)
