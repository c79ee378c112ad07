"""What touches the cut runs past it."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, place, printed, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint

_TOUCH = 0.2
"""How near the cut, in pt, matter counts as touching it."""


class Bleed(PageRule):
    """Matter that reaches the trim must reach the bleed's edge too; marks beyond the trim are no concern."""

    number = 20
    statement = "Artwork that reaches the trim runs on to the edge of a bleed outside it."
    source = "piccadillyprint.co.uk design guidelines: 3 mm of bleed; edwardsbrothers.com ideal PDF: 0.125 in"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many things stop at the cut, and the first of them."""
        short = [paint for paint in visible(sheet)
                 if not paint.tiled and printed(paint) and _stops(sheet, paint)]
        if short:
            x, y = place(sheet, short[0].box)
            yield self.found(
                sheet.number, f"artwork stops at the trim, or short of the bleed's edge: {len(short)} found, "
                f"the first {x:.1f} mm from the left and {y:.1f} mm from the top",
                count=len(short), x_mm=round(x, 1), y_mm=round(y, 1),
            )


def _stops(sheet: PdfPage, paint: Paint) -> bool:
    box, trim, bleed = paint.box, sheet.trim, sheet.bleed
    if not trim.meets(box):
        return False
    edges = (
        (trim.left - box.left, trim.left - bleed.left), (trim.low - box.low, trim.low - bleed.low),
        (box.right - trim.right, bleed.right - trim.right), (box.top - trim.top, bleed.top - trim.top),
    )
    return any(past >= -_TOUCH and (room <= SLACK or past < room - _TOUCH) for past, room in edges)
