"""A page's annotations: links alone, and none that shows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cagework.typeset.readback.asked import Asked
from cagework.typeset.readback.difference import Difference
from cagework.typeset.reader.document import PdfPage
from cagework.typeset.reader.keys import each, look, numbers


def compare_notes(sheet: PdfPage, asked: Asked) -> Iterator[Difference]:
    """Annotations that are no links, or links that show or do more than lead to a page."""
    for note in each(look(sheet.page, "/Annots")):
        kind = str(look(note, "/Subtype", "none")).lstrip("/")
        if kind != "Link":
            yield Difference(sheet.number, "annotations", None,
                             f"there is one of the kind {kind}; the book has links alone")
        elif not asked.linked:
            yield Difference(sheet.number, "annotations", None, "there is a link, where the file should have none")
        else:
            yield from (Difference(sheet.number, "links", None, message) for message in _amiss(note))


def _amiss(note: Any) -> Iterator[str]:
    border = numbers(look(note, "/Border"))
    width = float(look(look(note, "/BS"), "/W", border[2] if len(border) > 2 else 1.0))
    if width > 0:
        yield f"a link has a border of {width:g} pt, which shows"
    if look(note, "/AP") is not None:
        yield "a link paints something of its own"
    for key in ("/AA", "/PA"):
        if look(note, key) is not None:
            yield f"a link does something besides leading to a page ({key})"
    if look(look(note, "/A"), "/Next") is not None:
        yield "a link does something after leading to a page (/Next)"
