"""The file has an id."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.keys import each, look


class DocumentId(PressRule):
    """Two byte strings in the trailer."""

    number = 7
    statement = "The trailer has an ID of two strings."
    source = "blog.antenna.co.jp, PDFTool 2006-07-21; pdfbox-preflight issue 1"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """No ID, or one of another shape."""
        ident = each(look(document.trailer, "/ID"))
        if len(ident) != 2 or not all(ident):
            yield self.found(None, "the trailer has no ID of two strings")
