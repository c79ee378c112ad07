"""Pictures are sharp enough."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import look
from cagework.typeset.reader.paint import Paint, PaintKind


class ImageResolution(PageRule):
    """Pixels per inch as placed, across or up, whichever is fewer; one-bit images need more."""

    number = 31
    statement = "Images have the pixels the stock shows, line art more."
    source = "edwardsbrothers.com ideal PDF: 300 dpi, line art 1200; common practice for newsprint"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding for pictures and one for line art: how many, and the coarsest."""
        limits = profile.limits
        for line_art, least in ((False, limits.image), (True, limits.line_art)):
            coarse = [paint for paint in sheet.drawn if paint.kind is PaintKind.IMAGE and not paint.hidden
                      and paint.line_art is line_art and not _is_flat(paint) and _ppi(paint) < least - 0.5]
            what = f"{'line art' if line_art else 'images'} under {least:g} ppi"
            yield from self.worst(sheet, coarse, _ppi, what, "ppi")


def _is_flat(paint: Paint) -> bool:
    """Whether it is one pixel, and so one colour, however large."""
    return bool(look(paint.source, "/Width") == 1 and look(paint.source, "/Height") == 1)


def _ppi(paint: Paint) -> float:
    return paint.ppi or 0.0
