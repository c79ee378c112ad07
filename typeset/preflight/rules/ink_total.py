"""The paper can take the ink."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage


class InkTotal(PageRule):
    """Plain colours only: images are not looked into."""

    number = 27
    statement = "All inks together stay within what the stock takes."
    source = "ISO 12647-3:2013 as wan-ifra.org states it (newsprint); peakprint.ca guidelines"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many colours are too much, and the most."""
        most = profile.limits.ink
        totals = [100 * total for paint in sheet.paints
                  if (total := paint.colour.total) is not None and 100 * total > most + SLACK]
        if totals:
            yield self.found(sheet.number, f"more ink than {profile.stock} paper takes ({most:g} %): "
                                           f"{len(totals)} found, the most {max(totals):.0f} %",
                             count=len(totals), ink_percent=round(max(totals), 1))
