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


def starting_book(language: str, title: str | None = None, by: str | None = None) -> dict[Path, bytes]:
    """The files of a starting book by name, UTF-8, with a title and an author of its own where these are given."""
    found = dict(_files(files(__name__) / language, Path()))
    for key, given in (("title", title), ("by", by)):
        if given is not None:
            found[BOOK] = _with(found[BOOK].decode(), key, given).encode()
    return found


def _with(manifest: str, key: str, given: str) -> str:
    """The manifest with another line for a key of the book's own, which comes before those of sections."""
    line = f"  {entry(key, given, 2)}"
    return re.sub(rf"^  {key}: .*$", lambda _: line, manifest, count=1, flags=re.MULTILINE)


def _files(folder: Traversable, below: Path) -> Iterator[tuple[Path, bytes]]:
    for one in sorted(folder.iterdir(), key=lambda one: one.name):
        if one.is_dir():
            yield from _files(one, below / one.name)
        elif one.name.endswith(".yaml"):
            yield below / one.name, one.read_bytes()
