"""A line is wide enough to print."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, printed
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint


class ThinLines(PageRule):
    """Strokes and thin filled rectangles, after scaling. White ones are let pass: most lie on white."""

    number = 29
    statement = "No line thinner than the stock holds."
    source = "support.blurb.com article 360046232432 (0.25 pt); actaprint.fi working methods (0.5 pt)"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many, and the thinnest."""
        least = profile.limits.line
        thin = [paint for paint in sheet.paints if paint.weight is not None and printed(paint)
                and paint.weight < least - SLACK]
        yield from self.worst(sheet, thin, _weight, f"lines thinner than {least:g} pt", "pt")


def _weight(paint: Paint) -> float:
    return paint.weight or 0.0
