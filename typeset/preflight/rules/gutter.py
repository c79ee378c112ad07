"""The fold swallows nothing."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from cagework.typeset.marks import MM
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, printed, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint


class Gutter(PageRule):
    """Only where the profile asks for a gutter wider than the safety margin."""

    number = 22
    statement = "Live matter keeps the gutter clear: left on odd pages, right on even ones."
    source = "kssct.org standard margins for books; pagemaster.ca interior margins"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many things are too near the fold, and the nearest."""
        if profile.gutter_mm <= profile.safety:
            return
        near = [paint for paint in visible(sheet) if not paint.tiled and printed(paint)
                and sheet.trim.meets(paint.box.grown(SLACK))
                and profile.safety * MM - SLACK <= _inset(sheet, paint) < profile.gutter_mm * MM - SLACK]
        yield from self.worst(sheet, near, partial(_gutter_mm, sheet),
                              f"live matter within {profile.gutter_mm:g} mm of the fold", "mm")


def _inset(sheet: PdfPage, paint: Paint) -> float:
    """How far from the fold a paint lies, in pt; nearer than the safety margin is that rule's business."""
    return paint.box.left - sheet.trim.left if sheet.number % 2 else sheet.trim.right - paint.box.right


def _gutter_mm(sheet: PdfPage, paint: Paint) -> float:
    return _inset(sheet, paint) / MM
