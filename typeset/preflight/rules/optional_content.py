"""There are no layers."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument


class OptionalContent(PressRule):
    """Layers are PDF 1.5, so PDF/X-1a has none; PDF/X-4 may."""

    number = 12
    statement = "No layers (optional content) in PDF/X-1a."
    source = "scope of NEN-ISO 15930-7 at standards.globalspec.com, which adds them"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Layers in the catalogue."""
        if document.standard is Standard.X1A and "/OCProperties" in document.root:
            yield self.found(None, "the file has layers")
