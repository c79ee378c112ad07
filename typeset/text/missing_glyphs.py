"""A book's words to the letters that the layout's faces cannot set: faults, or warnings where another face can."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from cagework.solver.listed import ListedHouse
from cagework.typeset.book import Book, IndexBy, Section, TextPage
from cagework.typeset.entry import Entry, Place, Solutions
from cagework.typeset.faults import Fault, Severity
from cagework.typeset.prose import Look, ProseKind
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.paragraph import italic_of, prose_style

_HINT = "write it another way, or give the layout a face that has it (fonts)"


@dataclass(frozen=True, slots=True)
class _Set:
    """Some words of the book: what they are of, their key there, and the faces they are set in."""

    part: Book | Section | Entry | TextPage
    key: str
    words: Sequence[str]
    faces: tuple[str, ...]


def missing_glyphs(book: Book, fonts: Fonts) -> Iterator[Fault]:
    """Letters that no face can set: a hole in the page, so it never gets that far. As warnings, those for which
    another face stands in.
    """
    told: dict[Place, set[str]] = {}
    warned: set[tuple[Place, str]] = set()
    for one in _texts(book):
        if lacking := _joined(lacking_in(one.words, face, fonts) for face in one.faces):
            known = told.setdefault(one.part.place_of(one.key), set())
            new = "".join(char for char in lacking if char.casefold() not in known)
            known.update(map(str.casefold, new))    # the capital of a letter is no second fault
            if new:
                place = one.part.place_of(one.key, new[0])
                yield Fault(place, f"the layout's faces cannot set {named(new)}", _HINT)
            continue
        for face in one.faces:
            for chars, other in stand_ins(one.words, face, fonts):
                place = one.part.place_of(one.key, chars[0])
                if (place, face) not in warned:
                    warned.add((place, face))
                    yield Fault(place, stood_in(chars, face, other),
                                f"give the layout a {face} that has it (fonts)", Severity.WARNING)


def lacking_in(words: Iterable[str], face: str, fonts: Fonts) -> str:
    """The letters of some words for which neither a face nor another in its place serves, each once, in order."""
    return _joined(fonts.lacking(face, word) or fonts[face].lacks(word) for word in words
                   if fonts[fonts.face_for(face, word)].lacks(word))


def stand_ins(words: Iterable[str], face: str, fonts: Fonts) -> Iterator[tuple[str, str]]:
    """The letters a face lacks and the face that sets the words with them, one for each such face."""
    found: dict[str, str] = {}
    for word in words:
        other = fonts.face_for(face, word)
        if other != face:
            found[other] = found.get(other, "") + fonts[face].lacks(word)
    for other, chars in found.items():
        yield _joined(chars), other


def stood_in(chars: str, face: str, other: str) -> str:
    """What an editor is told of it."""
    return f"{face} has no {named(chars)}: words with {'it' if len(chars) == 1 else 'them'} are set in {other}"


def named(chars: str) -> str:
    """Characters with their code points; one that cannot be seen by its name alone."""
    return ", ".join(f"{char} (U+{ord(char):04X})" if char.isprintable() and not unicodedata.combining(char)
                     else f"U+{ord(char):04X} ({unicodedata.name(char, 'a control character').lower()})"
                     for char in chars)


def _joined(parts: Iterable[str]) -> str:
    return "".join(dict.fromkeys(char for part in parts for char in part))


def _texts(book: Book) -> Iterator[_Set]:
    """Each text of the book in the faces it is set in; what is set in capitals stands there in capitals, too, and
    what is set in one line as one.
    """
    layout = book.layout
    style, italic = prose_style(layout, book.language), italic_of(layout)
    roman, bold = layout.prose.family, f"{layout.prose.family}-semibold"

    def prose(part: Book | Section, key: str, text: str | None) -> Iterator[_Set]:
        for number, piece in enumerate((text or "").split("*")):
            emphasis = style.emphasis if number % 2 else None
            yield _Set(part, key, piece.split(), (emphasis or style.face,))

    yield _Set(book, "title", book.title.split(), (roman,))
    yield _Set(book, "title", (book.title, book.title.upper()), ("sans",))
    if book.short_title:
        yield _Set(book, "short_title", (book.short_title, book.short_title.upper()), ("sans",))
    yield _Set(book, "subtitle", (book.subtitle or "").split(), (italic,))
    if book.by:
        yield _Set(book, "by", (book.by,), (roman,))
        if book.cover:
            yield _Set(book, "by", (book.by.upper(),), ("sans-semibold",))
    yield _Set(book, "imprint", " ".join(book.imprint).split(), (roman,))
    yield from prose(book, "introduction", book.introduction)
    yield from prose(book, "cover.blurb", book.cover.blurb if book.cover else None)
    yield _Set(book, "grade_words", tuple((book.grade_words or {}).values()), ("sans", bold))
    for page in book.text_pages:
        yield from _own(page, {Look.PLAIN: style.face, Look.ITALIC: style.emphasis or style.face, Look.BOLD: bold})
    for section in book.sections:
        yield _Set(section, "title", section.title.split(), (roman, bold))
        yield _Set(section, "title", (section.title.upper(),), ("sans",))
        if section.short_title:
            yield _Set(section, "short_title", (section.short_title.upper(),), ("sans",))
        yield from prose(section, "intro", section.intro)
        for entry in section.entries:
            yield _Set(entry, "title", (entry.title or "").split(), (roman, "sans"))
            yield _Set(entry, "short_title", (entry.short_title or "").split(), ("sans",))
            by = (italic, bold) if IndexBy.CONSTRUCTOR in book.index else (italic,)
            yield _Set(entry, "by", (entry.by or "").split(), by)
            yield _Set(entry, "note", (entry.note or "").split(), (italic,))
            if book.pages.first_hints or entry.solutions is not Solutions.NONE:
                names = [rule.name for rule in entry.rules if isinstance(rule, ListedHouse)]
                yield _Set(entry, "houses", " ".join(names).split(), (roman,))


def _own(page: TextPage, faces: Mapping[Look, str]) -> Iterator[_Set]:
    """A page of the publisher's own; headings are bold all through."""
    bold = faces[Look.BOLD]
    if page.title:
        yield _Set(page, "title", page.title.split(), (bold,))
        yield _Set(page, "title", (page.title.upper(),), ("sans",))
    for block in page.blocks:
        heads = block.kind in (ProseKind.HEADING, ProseKind.SUBHEADING)
        for span in block.spans:
            yield _Set(page, "text", span.text.split(), (bold if heads else faces[span.look],))
