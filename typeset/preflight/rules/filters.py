"""Streams are packed in ways a press can unpack."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument, PdfPage, font_descriptor
from cagework.typeset.reader.keys import each, entries, look

_BARRED = {"/LZWDecode": "LZW", "/LZW": "LZW", "/JBIG2Decode": "JBIG2", "/JPXDecode": "JPEG 2000",
           "/Crypt": "Crypt"}


class Filters(PressRule):
    """PDF/X-4 allows JPEG 2000 as well; whether it allows JBIG2 was not found, so that is left out."""

    number = 13
    statement = "Streams are Flate, DCT, CCITT fax or run-length packed; no LZW, JBIG2 or JPEG 2000."
    source = ("Ruby gem preflight, PDFX1A profile; Kodak workflow help; Prinect PDF Toolbox help 2020; "
              "prepressure.com on PDF/X-4")

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """The barred ones among a page's content, images, forms, patterns and fonts."""
        for sheet in document.sheets:
            found = {_BARRED[name] for thing in _streams(sheet) for name in _names(look(thing, "/Filter"))
                     if name in _BARRED}
            if document.standard is Standard.X4:
                found.discard("JPEG 2000")
            for name in sorted(found):
                yield self.found(sheet.number, f"the page is packed with {name}", filter=name)


def _streams(sheet: PdfPage) -> Iterator[Any]:
    contents = look(sheet.page, "/Contents")
    yield from each(contents) or [contents]
    for resources in sheet.resources:
        for kind in ("/XObject", "/Pattern"):
            for _, thing in entries(resources, kind):
                yield thing
        for _, font in entries(resources, "/Font"):
            descriptor = font_descriptor(font)
            yield from (look(descriptor, key) for key in ("/FontFile", "/FontFile2", "/FontFile3"))


def _names(filters: Any) -> list[str]:
    return [filters] if isinstance(filters, str) else each(filters)
