"""The file is open."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.document import Document
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, Rule


class Encryption(Rule):
    """Encryption stops a press even where no password is asked."""

    number = 3
    statement = "The file is not encrypted."
    source = "pdfbox-preflight issue 1 (PDF/X-1a rule list); automatizarpdf.com on PDF/X-1a"

    def check(self, document: Document, profile: Profile) -> Iterator[Finding]:
        """Any encryption at all."""
        if document.encrypted:
            yield self.found(None, "the file is encrypted")
