"""What was found of a book's puzzles, and the book as it was read, to the book with its grades."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from math import inf
from types import MappingProxyType

from cagework.typeset.book import Book, Order
from cagework.typeset.solving.check import Checked

_NO_SCORES: Mapping[str, float] = MappingProxyType({})


def rated(book: Book, checked: Iterable[Checked], scores: Mapping[str, float] = _NO_SCORES) -> Book:
    """The book with each puzzle's grade filled in, and sections that ask for it in order of grade: there a puzzle
    without a score stands by what `scores` has for it, or last.
    """
    ratings = {one.reading.id: one for one in checked}
    sections = []
    for section in book.sections:
        entries = [
            replace(entry, grade=ratings[entry.id].grade or entry.grade, reach=ratings[entry.id].reach)
            for entry in section.entries
        ]
        if section.order is Order.GRADE:
            entries.sort(key=lambda entry: _score(ratings[entry.id], scores.get(entry.id, inf)))
        sections.append(replace(section, entries=tuple(entries)))
    return replace(book, sections=tuple(sections))


def _score(checked: Checked, otherwise: float) -> float:
    return checked.worked.rating.score if checked.worked else otherwise
