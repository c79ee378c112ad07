"""A book's words to the characters that the layout's faces cannot set, as faults."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from cagework.typeset.book import Book, Entry, Section, TextPage
from cagework.typeset.faults import Fault
from cagework.typeset.text.fonts import Fonts, packaged_faces


def missing_glyphs(book: Book, fonts: Fonts) -> Iterator[Fault]:
    """Characters the layout's faces have no glyph for: a hole in the page, so it never gets that far."""
    for part, key, text in _texts(book):
        if lacking := lacking_in(text, fonts):
            yield Fault(part.place_of(key, lacking[0]), f"the layout's faces cannot set {named(lacking)}",
                        "write it another way, or give the layout a face that has it (fonts)")


def lacking_in(text: str, fonts: Fonts) -> str:
    """The characters of a text that some face lacks, each once, in order; blanks do not count."""
    said = " ".join(text.split())
    return "".join(dict.fromkeys(char for face in sorted(packaged_faces()) for char in fonts[face].lacks(said)))


def named(chars: str) -> str:
    """Characters with their code points; one that cannot be seen by its name alone."""
    return ", ".join(f"{char} (U+{ord(char):04X})" if char.isprintable() and not unicodedata.combining(char)
                     else f"U+{ord(char):04X} ({unicodedata.name(char, 'a control character').lower()})"
                     for char in chars)


def _texts(book: Book) -> Iterator[tuple[Book | Section | Entry | TextPage, str, str]]:
    """Each text of the book: what it is of, its key there, and what it says."""
    blurb = book.cover.blurb if book.cover else None
    said = {"title": book.title, "subtitle": book.subtitle, "by": book.by, "imprint": "\n".join(book.imprint),
            "introduction": book.introduction, "cover.blurb": blurb,
            "grade_words": "\n".join((book.grade_words or {}).values())}
    yield from ((book, key, text) for key, text in said.items() if text)
    for page in book.text_pages:
        yield from ((page, key, text) for key, text in page.texts if text)
    for section in book.sections:
        said = {"title": section.title, "intro": section.intro}
        yield from ((section, key, text) for key, text in said.items() if text)
        for entry in section.entries:
            said = {"title": entry.title, "by": entry.by, "note": entry.note}
            yield from ((entry, key, text) for key, text in said.items() if text)
