"""A book to start from, beside this module, a folder a language: a manifest that explains itself, and puzzles."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from cagework.typeset.manifest.emit import entry

BOOK = Path("book.yaml")
"""The manifest among the files of a book."""

_TITLE = re.compile(r"^  title: .*$", re.MULTILINE)
"""The book's own line; it comes before those of sections."""


def starting_book(language: str, title: str | None = None) -> dict[Path, bytes]:
    """The files of a starting book by name, UTF-8, with a title of its own where one is given."""
    found = dict(_files(files(__name__) / language, Path()))
    if title is not None:
        named = f"  {entry('title', title, 2)}"
        found[BOOK] = _TITLE.sub(lambda _: named, found[BOOK].decode(), count=1).encode()
    return found


def _files(folder: Traversable, below: Path) -> Iterator[tuple[Path, bytes]]:
    for one in sorted(folder.iterdir(), key=lambda one: one.name):
        if one.is_dir():
            yield from _files(one, below / one.name)
        elif one.name.endswith(".yaml"):
            yield below / one.name, one.read_bytes()
