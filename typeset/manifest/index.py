"""The manifest's index: what it may go by, held against what the puzzles have."""

from __future__ import annotations

from collections.abc import Iterable

from cagework.typeset.book import Grades, IndexBy
from cagework.typeset.entry import Entry
from cagework.typeset.manifest.notes import Notes


def read_index(
    top: Notes, written: object, entries: Iterable[Entry], grades: Grades,
) -> tuple[IndexBy, ...]:
    """The indexes of a book, as far as their names are right; one that is asked for twice, or would be empty, is
    reported.
    """
    printed = tuple(entries)
    found: dict[IndexBy, None] = {}
    for number, name in enumerate(written if isinstance(written, list) else ()):
        if name not in list(IndexBy):
            continue
        by, spot = IndexBy(name), top.spot("book", "index", number)
        if by in found:
            top.add(spot, f"the index by {by} is asked for twice", "keep one of them")
        elif by is IndexBy.GRADE and grades is Grades.NONE:
            top.add(spot, "the book shows no grades, so there is no index by grade",
                    "leave it out, or set grades: words")
        elif by is IndexBy.TITLE and not any(entry.title for entry in printed):
            top.add(spot, "no puzzle has a title, so there is no index by title", "leave it out")
        elif by is IndexBy.CONSTRUCTOR and not any(entry.by for entry in printed):
            top.add(spot, "no puzzle says who made it, so there is no index by constructor",
                    "leave it out, or say so with by")
        found[by] = None
    return tuple(found)
