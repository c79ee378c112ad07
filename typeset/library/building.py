"""A manifest to the files of its book."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from cagework.typeset.build import Built
from cagework.typeset.build import build as build_files
from cagework.typeset.choices import SHEETS
from cagework.typeset.library.asked import chosen
from cagework.typeset.library.reading import whole
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.crew import Crew


def build(
    manifest: str | Path,
    out: str | Path,
    *,
    press: bool = False,
    booklet: bool = False,
    sheet: str | None = None,
    seconds: float | None = None,
    keep: bool = True,
) -> Built:
    """Check every puzzle of a manifest and write its book under the folder `out`, all files or none.

    The files are those of `cagework build`: `book.pdf`, an SVG for each puzzle and answer, with `press` the press
    file and the cover, with `booklet` the pages two to a side of a `sheet` (`a4`, `letter`), the smallest that
    fits where none is named. A puzzle may take `seconds`; None for as long as it takes. With `keep`, what is found
    of puzzles is kept for the next time, where the command keeps it. All is done in this process, on one core; the
    command takes all cores. The result names the files and counts pages and puzzles; its `warnings` are what an
    editor should look at.

    Raises FaultsError with all that stands against printing the book, ChoiceError for a sheet that there is not,
    OSError where a file cannot be written. Then the files of an earlier build stay as they were.
    """
    if sheet is not None:
        chosen(sheet, tuple(SHEETS), "sheet")
    reading = whole(load_book(Path(manifest)))
    assert reading.book is not None, "a manifest without faults is a book"
    with Crew(Cache() if keep else None) as crew:
        built = build_files(reading.book, reading, Path(out), seconds, press=press, booklet=booklet, sheet=sheet,
                            crew=crew)
    return replace(built, warnings=(*reading.faults, *built.warnings))
