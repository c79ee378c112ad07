"""A line is wide enough to print."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule, printed, visible
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import look
from cagework.typeset.reader.paint import Paint, PaintKind


class ThinLines(PageRule):
    """Strokes, narrow fills, stencils, and what narrow clips leave, after scaling. White ones are let pass: most
    lie on white.
    """

    number = 29
    statement = "No line thinner than the stock holds."
    source = "support.blurb.com article 360046232432 (0.25 pt); actaprint.fi working methods (0.5 pt)"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many, and the thinnest."""
        least = profile.limits.line
        thin = [paint for paint in visible(sheet) if paint.thinnest is not None and printed(paint)
                and paint.thinnest < least - SLACK and _is_drawn(paint)]
        yield from self.worst(sheet, thin, _weight, f"lines thinner than {least:g} pt", "pt")


def _weight(paint: Paint) -> float:
    return paint.thinnest or 0.0


def _is_drawn(paint: Paint) -> bool:
    """Whether it is drawn, or a picture's stencil: pictures are cut into strips by programs, which join on
    paper.
    """
    return paint.kind is not PaintKind.IMAGE or look(paint.source, "/ImageMask", False) is True
