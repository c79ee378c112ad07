"""Black text is black alone."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint, PaintKind

_RULE = 4.0
"""Lines up to this weight, in pt, are held to one ink as well."""


class RichBlack(PageRule):
    """Other inks under black leave coloured edges on small shapes."""

    number = 26
    statement = "Text in black, and lines of 4 pt or less, use no other ink under it."
    source = "tcmprinting.com creative resources (black text 100 K only); torstarprinting.com specs (lines)"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many, and the smallest."""
        rich = [paint for paint in sheet.paints if _is_rich(paint)]
        yield from self.worst(sheet, rich, _size, "black text or lines with other inks under them", "pt")


def _is_rich(paint: Paint) -> bool:
    inks = paint.colour.inks
    small = paint.kind is PaintKind.TEXT or (paint.kind is PaintKind.STROKE and (paint.weight or 0.0) <= _RULE)
    return small and inks is not None and inks[3] > 0 and any(ink > 0 for ink in inks[:3])


def _size(paint: Paint) -> float:
    return (paint.size if paint.kind is PaintKind.TEXT else paint.weight) or 0.0
