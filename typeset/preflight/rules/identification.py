"""The file says which PDF/X it is."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument

_NAMESPACE = b"http://www.npes.org/pdfx/ns/id/"


class Identification(PressRule):
    """PDF/X-1a says so in the document information, PDF/X-4 in its XMP."""

    number = 4
    statement = "The file says once, and in the right place, that it is PDF/X-1a:2003 or PDF/X-4."
    source = ("blog.antenna.co.jp, PDFTool 2006-07-21, on PDF/X-1a:2003 and the key of the 2001 edition; "
              "the XMP namespace as public XMP libraries have it")

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """No claim, an unknown one, two, or one in the wrong place."""
        claims = document.claims
        if not claims:
            yield self.found(None, "the file does not say that it is PDF/X")
            return
        known = {standard.claim for standard in Standard}
        if len(claims) > 1 or claims[0] not in known:
            yield self.found(None, f"the file says it is {' and '.join(claims)}; a press file is one of "
                                   f"{' or '.join(sorted(known))}", claims=", ".join(claims))
        elif document.standard is Standard.X4 and _NAMESPACE not in document.xmp:
            yield self.found(None, "the file says it is PDF/X-4 outside the XMP namespace of PDF/X")
        elif document.standard is Standard.X1A and "/GTS_PDFXVersion" not in document.info:
            yield self.found(None, "the file says it is PDF/X-1a in its XMP alone, not in its information")
        elif document.standard is Standard.X1A and "/GTS_PDFXConformance" in document.info:
            yield self.found(None, "the key GTS_PDFXConformance belongs to the 2001 edition")
