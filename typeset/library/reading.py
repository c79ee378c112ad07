"""Files to books and puzzles, or all that is wrong in them."""

from __future__ import annotations

from pathlib import Path

from cagework.typeset.book import Book
from cagework.typeset.entry import Entry
from cagework.typeset.faults import FaultsError
from cagework.typeset.manifest.load import Reading, load_book


def read_book(path: str | Path) -> Book:
    """Return what a manifest says: the texts of the book, its layout (mm and pt), its sections and their puzzles.

    Raises FaultsError with every fault of the manifest and of the files that it names, each with its line.
    """
    reading = whole(load_book(Path(path)))
    assert reading.book is not None, "a manifest without faults is a book"
    return reading.book


def read_puzzles(path: str | Path) -> tuple[Entry, ...]:
    """Return the puzzles of a puzzle file or a manifest, in the order they stand there.

    Raises FaultsError with every fault, each with its line.
    """
    reading = whole(load_book(Path(path), puzzles_suffice=True))
    return tuple(one.entry for one in reading.puzzles if one.entry)


def whole(reading: Reading) -> Reading:
    """What was read, where nothing in it is wrong. Raises FaultsError with the errors."""
    if reading.failed:
        raise FaultsError(fault for fault in reading.faults if fault.is_error)
    return reading
