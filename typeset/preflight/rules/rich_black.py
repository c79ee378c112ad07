"""Black is black ink alone."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.ground import piles
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule, visible
from cagework.typeset.reader.colour import Inks
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.paint import Paint, PaintKind

_RULE = 4.0
"""Lines up to this weight, in pt, are held to one ink even where they are not all black."""

_DARK, _SOLID = 0.5, 0.98
"""Black ink from which text and lines, and from which areas, are black."""

_TRACE, _NOISE = 0.005, 0.05
"""Other ink that counts under plain black, and under black in a picture, which packing blurs."""

_SHARE = 0.05
"""Of an image's pixels, at the least: the deepest shadows of a photograph may hold all inks."""


class RichBlack(PageRule):
    """Other inks under black leave coloured edges on small shapes, and dry slowly under large ones."""

    number = 26
    statement = "Black uses no other ink under it: in text, in lines, in solid areas, in images and shadings."
    source = "tcmprinting.com creative resources (black text 100 K only); torstarprinting.com specs (lines)"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: how many, and the smallest."""
        shown = visible(sheet)
        rich = [paint for paint in shown if _is_rich(paint, document)]
        rich += [pile.paint for pile in piles(shown) if pile.twice and _mixed(pile.inks, _DARK, _TRACE)]
        yield from self.worst(sheet, rich, _size, "black with other inks under it", "pt")


def _is_rich(paint: Paint, document: PdfDocument) -> bool:
    if paint.kind in (PaintKind.IMAGE, PaintKind.SHADING) and paint.colour.values == ():
        shares = document.pictures.inks(paint)
        rich = sum(share for inks, share in shares.items() if _mixed(inks, _SOLID, _NOISE))
        return rich > (_SHARE if paint.kind is PaintKind.IMAGE else 0)
    inks = paint.colour.inks
    small = paint.kind is PaintKind.TEXT or (paint.kind is PaintKind.STROKE and (paint.weight or 0.0) <= _RULE)
    return inks is not None and _mixed(inks, _DARK if small else _SOLID, _TRACE)


def _mixed(inks: Inks, black: float, other: float) -> bool:
    return inks[3] >= black and max(inks[:3]) > other


def _size(paint: Paint) -> float:
    own = paint.size if paint.kind is PaintKind.TEXT else paint.weight
    return min(paint.box.width, paint.box.height) if own is None else own
