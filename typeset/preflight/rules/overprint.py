"""White knocks out."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.ground import overprints
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule, printed, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import PaintKind


class Overprint(PageRule):
    """White that overprints vanishes on paper, though many a screen shows it."""

    number = 33
    statement = "Nothing white is set to overprint."
    source = "ISO 32000-1, 8.6.7 (overprint control); common practice"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many, and the smallest."""
        lost = [paint for paint in visible(sheet) if overprints(paint) and not printed(paint)
                and paint.kind not in (PaintKind.IMAGE, PaintKind.SHADING)]
        yield from self.worst(sheet, lost, lambda paint: min(paint.box.width, paint.box.height),
                              "white that overprints, and so vanishes", "pt")
