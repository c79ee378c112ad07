"""Not too much ink in one place."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.ground import piles
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage

_SHARE = 0.001
"""Of an image's pixels, at the least: a few dark ones are the noise of packing."""


class InkTotal(PageRule):
    """Plain colours, images, shadings, and what overprinting piles up."""

    number = 27
    statement = "All inks together stay within what the stock takes, in images and shadings too."
    source = "ISO 12647-3:2013 as wan-ifra.org states it (newsprint); peakprint.ca guidelines"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many things are too much, and the most."""
        most, shown = profile.limits.ink, visible(sheet)
        shares = [document.pictures.inks(paint) for paint in shown]
        tops = [max((sum(inks) for inks, share in held.items() if share > _SHARE), default=0.0) for held in shares]
        tops += [sum(pile.inks) for pile in piles(shown)]
        totals = [100 * top for top in tops if 100 * top > most + SLACK]
        if totals:
            yield self.found(sheet.number, f"more ink than {profile.stock} paper takes ({most:g} %): "
                                           f"{len(totals)} found, the most {max(totals):.0f} %",
                             count=len(totals), ink_percent=round(max(totals), 1))
