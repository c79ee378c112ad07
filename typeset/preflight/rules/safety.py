"""What must not be cut keeps clear of the cut."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from cagework.typeset.marks import MM
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, printed, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint, PaintKind


class Safety(PageRule):
    """Matter inside the trim but near it. What runs past the trim is the bleed's business."""

    number = 21
    statement = "Live matter keeps the stock's safety margin inside the trim, or the profile's."
    source = "piccadillyprint.co.uk design guidelines: 5 mm; edwardsbrothers.com: 0.188 in"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many things are too near, and the nearest."""
        near = [paint for paint in visible(sheet) if not paint.tiled and printed(paint)
                and SLACK < _margin(sheet, paint) < profile.safety * MM - SLACK]
        yield from self.worst(sheet, near, partial(_safety_mm, sheet),
                              f"live matter within {profile.safety:g} mm of the trim", "mm")


def _margin(sheet: PdfPage, paint: Paint) -> float:
    """How far inside the trim a paint lies, in pt; 0 where it touches the trim or runs past it."""
    box, trim = paint.box, sheet.trim
    sides = (box.left - trim.left, box.low - trim.low, trim.right - box.right, trim.top - box.top)
    if not trim.meets(box.grown(SLACK)):
        return 0.0
    if paint.kind is PaintKind.TEXT:
        return max(min(sides), 2 * SLACK)  # letters never bleed on purpose
    return max(min(sides), 0.0)


def _safety_mm(sheet: PdfPage, paint: Paint) -> float:
    return _margin(sheet, paint) / MM
