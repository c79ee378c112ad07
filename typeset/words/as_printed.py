"""The words of a book, and of a puzzle, as they are printed in a language: made once, where they enter."""

from __future__ import annotations

from dataclasses import replace

from cagework.typeset.book import Book, Entry, Section
from cagework.typeset.words.punctuation import printed


def printed_book(book: Book) -> Book:
    """The book with the punctuation of its language. Ids, files and places stay what they were."""
    language = book.language
    cover = book.cover and replace(book.cover, blurb=printed(book.cover.blurb, language))
    return replace(
        book, title=printed(book.title, language), short_title=_printed(book.short_title, language),
        subtitle=_printed(book.subtitle, language),
        by=_printed(book.by, language), imprint=tuple(printed(line, language) for line in book.imprint),
        introduction=_printed(book.introduction, language), cover=cover,
        sections=tuple(_section(section, language) for section in book.sections))


def printed_entry(entry: Entry, language: str) -> Entry:
    """A puzzle with its words as they are printed in a language."""
    return replace(entry, title=printed(entry.title, language), by=_printed(entry.by, language),
                   note=_printed(entry.note, language), short_title=_printed(entry.short_title, language))


def _section(section: Section, language: str) -> Section:
    return replace(section, title=printed(section.title, language), intro=_printed(section.intro, language),
                   short_title=_printed(section.short_title, language),
                   entries=tuple(printed_entry(entry, language) for entry in section.entries))


def _printed(text: str | None, language: str) -> str | None:
    return None if text is None else printed(text, language)
