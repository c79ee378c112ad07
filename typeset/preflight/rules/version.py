"""The PDF version is one the standard allows."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument

_LATEST = {Standard.X1A: (1, 4), Standard.X4: (1, 6)}


class Version(PressRule):
    """Header and catalogue, whichever says the later version."""

    number = 2
    statement = "PDF 1.4 at most for PDF/X-1a:2003, 1.6 at most for PDF/X-4."
    source = "automatizarpdf.com on PDF/X-1a; scope of NEN-ISO 15930-7 at standards.globalspec.com"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """A version that is too late."""
        latest = _LATEST[document.standard]
        if document.version > latest:
            shown, most = (f"{major}.{minor}" for major, minor in (document.version, latest))
            yield self.found(None, f"the file is PDF {shown}; {document.standard.claim} goes up to {most}",
                             version=shown, latest=most)
