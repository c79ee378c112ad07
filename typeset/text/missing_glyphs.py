"""A book's words to the characters that the layout's faces cannot set, as faults."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from cagework.typeset.book import Book
from cagework.typeset.faults import Fault
from cagework.typeset.text.fonts import Fonts, packaged_faces


def missing_glyphs(book: Book, fonts: Fonts) -> Iterator[Fault]:
    """Characters the layout's faces have no glyph for: a hole in the page, so it never gets that far."""
    faces = sorted(packaged_faces())
    for where, text in _texts(book):
        lacking = "".join(dict.fromkeys(char for face in faces for char in fonts[face].lacks(text)))
        if lacking:
            shown = " ".join(f"{char} (U+{ord(char):04X})" for char in lacking)
            yield Fault(where, f"the layout's faces cannot set {shown} in '{text[:40]}'",
                        "write it another way, or give the layout a face that has it (fonts)")


def _texts(book: Book) -> Iterator[tuple[Path, str]]:
    file = next(book.entries).place.file
    said = (book.title, book.subtitle, book.by, book.introduction, *book.imprint, book.cover and book.cover.blurb)
    for text in said:
        if text:
            yield file, " ".join(text.split())
    for section in book.sections:
        for text in (section.title, section.intro):
            if text:
                yield file, " ".join(text.split())
        for entry in section.entries:
            for text in (entry.title, entry.by, entry.note):
                if text:
                    yield entry.place.file, " ".join(text.split())
