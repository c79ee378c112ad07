"""Type is large enough to print."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.ground import on_ink
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, printed, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint, PaintKind


class SmallType(PageRule):
    """Sizes after scaling, up or across. White type on ink needs to be larger, for ink runs into it."""

    number = 30
    statement = "No type smaller than the stock holds, and white type larger still."
    source = ("peakprint.ca guidelines; marketing.tribune.com newspaper design advice, usatoday.com production "
              "typography and niadhelp.co.uk (newsprint)")

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding for dark type and one for white: how many, and the smallest."""
        shown = visible(sheet)
        for white, least in ((False, profile.limits.type), (True, profile.limits.reversed)):
            what = f"{'white ' if white else ''}type smaller than {least:g} pt"
            small = [paint for paint in shown if paint.kind is PaintKind.TEXT
                     and _size(paint) < least - SLACK and printed(paint) is not white]
            yield from self.worst(sheet, on_ink(shown, small) if white else small, _size, what, "pt")


def _size(paint: Paint) -> float:
    return paint.size or 0.0
