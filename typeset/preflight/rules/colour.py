"""Only gray and CMYK."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage

_PLAIN = {"DeviceGray", "DeviceCMYK", "Indexed", "Pattern", "Separation", "DeviceN"}
_MANAGED = {"ICCBased", "CalGray", "CalRGB", "Lab", "unstated"}
_PROCESS = {"All", "None", "Cyan", "Magenta", "Yellow", "Black"}


class Colours(PageRule):
    """Every colour painted with, in images and shadings too. Spot inks are refused: there is no plate for them."""

    number = 25
    statement = "Only gray and CMYK: no RGB, no spot inks, and in PDF/X-1a no colour by profile."
    source = "Kodak workflow help; noduffstuff.co.uk on PDF/X-1a; PDFlib tutorial, table 10.2; Esko on PDF/X-4"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding for each kind of colour that is barred."""
        allowed = _PLAIN | (_MANAGED if document.standard is Standard.X4 else set())
        barred: Counter[str] = Counter()
        for paint in sheet.paints:
            for space in paint.colour.space.chain():
                if space.family not in allowed:
                    barred[space.family] += 1
                barred.update(f"spot ink {name}" for name in space.names if name not in _PROCESS)
        for name, count in sorted(barred.items()):
            yield self.found(sheet.number, f"{name} on the page: {count} found", space=name, count=count)
