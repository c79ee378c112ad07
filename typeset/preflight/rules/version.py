"""The PDF version is one the standard allows."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import look

_LATEST = {Standard.X1A: (1, 4), Standard.X4: (1, 6)}

_STREAMS = (1, 5)


class Version(PageRule):
    """Header and catalogue, whichever says the later version; and nothing a file of that version cannot hold."""

    number = 2
    statement = ("PDF 1.4 at most for PDF/X-1a:2003, 1.6 at most for PDF/X-4, and nothing that is later than "
        "the file "
                 "says it is: under 1.5 no object streams and no 16-bit images.")
    source = ("automatizarpdf.com on PDF/X-1a; scope of NEN-ISO 15930-7 at standards.globalspec.com; ISO 32000-1, "
              "7.5.7, 7.5.8 and table 89")

    def whole(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """A version that is too late, or a build later than the version."""
        latest = _LATEST[document.standard]
        if document.version > latest:
            shown, most = (f"{major}.{minor}" for major, minor in (document.version, latest))
            yield self.found(None, f"the file is PDF {shown}; {document.standard.claim} goes up to {most}",
                             version=shown, latest=most)
        if document.version < _STREAMS and document.compressed:
            yield self.found(None, "the file keeps objects or its index in streams, which PDF knows from 1.5 on")

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Images of a later version than the file's."""
        if document.version < _STREAMS and any(
                look(held.thing, "/BitsPerComponent") == 16 for held in sheet.things
                if look(held.thing, "/Subtype") == "/Image"):
            yield self.found(sheet.number, "the page holds 16-bit images, which PDF knows from 1.5 on")
