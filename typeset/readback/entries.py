"""What a file says of itself and does when it is opened, held against what the book's should."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from typing import Any

from cagework.typeset.readback.asked import Asked
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.glyph_shapes import Letter
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.keys import entries, look
from cagework.typeset.write.pdf import pdf_date

_ROOT = frozenset({"/Type", "/Pages", "/Outlines", "/PageMode", "/Lang", "/Version", "/Dests", "/Names",
                   "/StructTreeRoot", "/MarkInfo", "/ViewerPreferences", "/OutputIntents", "/Metadata",
                   "/Extensions"})
"""Entries of a catalogue (ISO 32000-1, table 28) that a book's may have."""

_ACTS = {
    "/OpenAction": "does something when it is opened (OpenAction)",
    "/AA": "does something by itself (additional actions)", "/AcroForm": "has a form to fill in",
    "/OCProperties": "has layers", "/PageLabels": "numbers its pages in a way of its own (PageLabels)",
    "/Collection": "is a collection of files", "/AF": "has files attached",
}
_NAMED = {"/JavaScript": "runs JavaScript", "/EmbeddedFiles": "has files attached"}

_INFO = frozenset({"/Title", "/Author", "/Subject", "/Creator", "/Producer", "/Keywords", "/CreationDate",
                   "/ModDate", "/Trapped", "/GTS_PDFXVersion", "/GTS_PDFXConformance"})
_SAID = re.compile(r"<dc:title[^>]*>.*?<rdf:li[^>]*>(.*?)</rdf:li>", re.DOTALL)
_SAYS = 3
"""How many letters that are copied as others are told of."""


def compare_entries(document: PdfDocument, asked: Asked) -> Iterator[Difference]:
    """Where a file's catalogue, its information and its fonts' maps say or do what the book's should not."""
    for message in _amiss(document, asked):
        yield Difference(None, "file", None, message)


def _amiss(document: PdfDocument, asked: Asked) -> Iterator[str]:
    root = document.root
    if document.encrypted:
        yield "it is encrypted"
    for key in sorted(set(map(str, root)) - _ROOT):
        yield f"it {_ACTS.get(key, f'has an entry {key}, which the book has not')}"
    for key in look(root, "/Names", {}):
        if key != "/Dests":
            yield f"it {_NAMED.get(str(key), f'has names of the kind {key}, which the book has not')}"
    mode = look(root, "/PageMode", "/UseNone")
    if mode not in ("/UseNone", "/UseOutlines"):
        yield f"it opens in the mode {str(mode).lstrip('/')}"
    shown = dict(look(root, "/ViewerPreferences", {}))
    if bool(shown.pop("/DisplayDocTitle", False)) != asked.tagged and asked.ours:
        yield "its title is not shown over the window" if asked.tagged else "it says how its window is to look"
    if shown:
        yield f"it says how it is to be shown or printed ({', '.join(sorted(shown))})"
    if "/OutputIntents" in root and not asked.press and asked.ours:
        yield "it names a printing condition, which a file for a screen does not"
    language = look(root, "/Lang")
    if (language is not None or asked.ours) and (language or "") != asked.about.language:
        yield f"its language is '{language or ''}'; it should be '{asked.about.language}'"
    yield from _information(document, asked)
    yield from _copied(document, asked)


def _information(document: PdfDocument, asked: Asked) -> Iterator[str]:
    info, about = document.info, asked.about
    for key, word, wanted in (("/Title", "title", about.title), ("/Author", "author", about.author),
                              ("/Subject", "subject", about.subject), ("/Keywords", "keywords", "")):
        said = info.get(key)
        if (said is not None or (asked.ours and wanted)) and str(said or "") != wanted:
            yield f"its {word} is '{said or ''}'; it should be '{wanted}'"
    if asked.ours:
        if info.get("/Creator") != "cagework":
            yield f"it says it was made by '{info.get('/Creator', '')}'; it should be 'cagework'"
        for key in sorted(set(info) - _INFO):
            yield f"it says something of itself that the book does not ({key})"
    for key in ("/CreationDate", "/ModDate") if asked.ours and asked.dated else ():
        if info.get(key) != pdf_date(about.created):
            yield f"its {key[1:]} is {info.get(key)}; it should be {pdf_date(about.created)}"
    for title in _SAID.findall(document.xmp.decode("utf-8", "replace")):
        if unescape(title) != about.title:
            yield f"its metadata name the title '{unescape(title)}'; it should be '{about.title}'"


def _copied(document: PdfDocument, asked: Asked) -> Iterator[str]:
    """Letters that say something else than they show, to those who copy, search or hear the text."""
    wrong: dict[str, None] = {}
    mute: dict[str, None] = {}
    for font in _fonts(document):
        letters = [one for one in document.faces.of(font).chars.values() if isinstance(one, Letter)]
        wrong.update((f"'{one}' is copied as '{one.told}'", None) for one in letters if not one.is_true)
        if letters and asked.ours and "/ToUnicode" not in font:
            mute[str(look(font, "/BaseFont", "a font"))] = None
    yield from list(wrong)[:_SAYS]
    if len(wrong) > _SAYS:
        yield f"{len(wrong) - _SAYS} more letters are copied as others"
    for name in mute:
        yield f"its font {name.lstrip('/')} does not say what its letters are"


def says_its_letters(document: PdfDocument) -> bool:
    """Whether every font has a map from its codes to letters."""
    return all("/ToUnicode" in font for font in _fonts(document))


def shows_its_letters(document: PdfDocument) -> bool:
    """Whether every font's letters were known by their shapes."""
    return all(any(isinstance(one, Letter) for one in document.faces.of(font).chars.values())
               for font in _fonts(document))


def _fonts(document: PdfDocument) -> Iterator[Any]:
    seen: set[int] = set()
    for sheet in document.sheets:
        for resources in sheet.resources:
            for _, font in entries(resources, "/Font"):
                if id(font) not in seen:
                    seen.add(id(font))
                    yield font
