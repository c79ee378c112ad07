"""The words of a book, and of a puzzle, as they are printed in a language: made once, where they enter."""

from __future__ import annotations

from dataclasses import replace

from cagework.typeset.book import Book, Section, TextPage
from cagework.typeset.entry import Entry
from cagework.typeset.prose import ProseBlock, Span
from cagework.typeset.words.punctuation import printed

_STAR = "\ue000"
"""A star of the text itself, for as long as others stand for a change of look."""


def printed_book(book: Book) -> Book:
    """The book with the punctuation of its language. Ids, files and places stay what they were."""
    language = book.language
    grades = {grade: printed(word, language) for grade, word in (book.grade_words or {}).items()}
    cover = book.cover and replace(book.cover, blurb=printed(book.cover.blurb, language))
    return replace(
        book, title=printed(book.title, language), short_title=_printed(book.short_title, language),
        subtitle=_printed(book.subtitle, language),
        by=_printed(book.by, language), imprint=tuple(printed(line, language) for line in book.imprint),
        introduction=_printed(book.introduction, language), cover=cover,
        grade_words=grades or None,
        text_pages=tuple(printed_text_page(page, language) for page in book.text_pages),
        sections=tuple(_section(section, language) for section in book.sections))


def printed_entry(entry: Entry, language: str) -> Entry:
    """A puzzle with its words as they are printed in a language."""
    return replace(entry, title=_printed(entry.title, language), by=_printed(entry.by, language),
                   note=_printed(entry.note, language), short_title=_printed(entry.short_title, language))


def _section(section: Section, language: str) -> Section:
    return replace(section, title=printed(section.title, language), intro=_printed(section.intro, language),
                   short_title=_printed(section.short_title, language),
                   entries=tuple(printed_entry(entry, language) for entry in section.entries))


def printed_text_page(page: TextPage, language: str) -> TextPage:
    """A page of the publisher's own as it is printed in a language."""
    return replace(page, title=_printed(page.title, language),
                   blocks=tuple(_block(block, language) for block in page.blocks))


def _block(block: ProseBlock, language: str) -> ProseBlock:
    """A piece of prose; its looks stand between stars meanwhile, which punctuation looks past."""
    joined = "*".join(span.text.replace("*", _STAR) for span in block.spans)
    texts = printed(joined, language).split("*")
    return replace(block, spans=tuple(Span(text.replace(_STAR, "*"), span.look)
                                      for text, span in zip(texts, block.spans, strict=True)))


def _printed(text: str | None, language: str) -> str | None:
    return None if text is None else printed(text, language)
