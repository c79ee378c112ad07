"""Streams are packed in ways a press can unpack."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Any

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.image import filter_names
from cagework.typeset.reader.paint import PaintKind

_BARRED = {"/LZWDecode": "LZW", "/LZW": "LZW", "/JBIG2Decode": "JBIG2", "/JPXDecode": "JPEG 2000",
           "/Crypt": "Crypt"}


class Filters(PageRule):
    """PDF/X-4 allows JPEG 2000 as well; whether it allows JBIG2 was not found, so that is left out."""

    number = 13
    statement = "Streams are Flate, DCT, CCITT fax or run-length packed; no LZW, JBIG2 or JPEG 2000."
    source = ("Ruby gem preflight, PDFX1A profile; Kodak workflow help; Prinect PDF Toolbox help 2020; "
              "prepressure.com on PDF/X-4")

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """The barred ones among all streams below the page, and its inline images."""
        inline = (paint.source for paint in sheet.drawn if paint.kind is PaintKind.IMAGE)
        for name in _barred(chain((held.thing for held in sheet.things), inline), document):
            yield self.found(sheet.number, f"the page is packed with {name}", filter=name)

    def whole(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """The barred ones among the streams that belong to no page."""
        for name in _barred((held.thing for held in document.objects.below(document.root)), document):
            yield self.found(None, f"the file is packed with {name}", filter=name)


def _barred(things: Iterable[Any], document: PdfDocument) -> list[str]:
    found = {_BARRED[name] for thing in things for name in filter_names(thing) if name in _BARRED}
    if document.standard is Standard.X4:
        found.discard("JPEG 2000")
    return sorted(found)
