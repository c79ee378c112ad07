"""A tint shows at all."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.faults import Severity
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint, PaintKind


class LightTints(PageRule):
    """Plain colours only: images and gradients may fade to nothing."""

    number = 28
    statement = "No tint fainter than the stock can hold."
    source = "torstarprinting.com specs and mclarenpress.com (newsprint); common practice elsewhere"
    severity = Severity.WARNING

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many, and the faintest."""
        least = profile.limits.tint
        faint = [paint for paint in visible(sheet)
                 if paint.kind not in (PaintKind.IMAGE, PaintKind.SHADING) and SLACK < _percent(paint) < least -
                 SLACK]
        yield from self.worst(sheet, faint, _percent, f"tints under {least:g} %", "%")


def _percent(paint: Paint) -> float:
    return 100 * (paint.colour.total or 0.0)
