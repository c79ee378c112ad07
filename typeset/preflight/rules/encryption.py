"""The file is open."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument


class Encryption(PressRule):
    """Encryption stops a press even where no password is asked."""

    number = 3
    statement = "The file is not encrypted."
    source = "pdfbox-preflight issue 1 (PDF/X-1a rule list); automatizarpdf.com on PDF/X-1a"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Any encryption at all."""
        if document.encrypted:
            yield self.found(None, "the file is encrypted")
