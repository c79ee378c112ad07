"""Every page says where it is cut."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import SLACK, Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage, read_box
from cagework.typeset.reader.keys import look


class Boxes(PageRule):
    """The page boxes as they are written, not as a viewer falls back."""

    number = 17
    statement = "Each page has a TrimBox or an ArtBox, not both, inside its bleed, crop and media; no UserUnit."
    source = "pdfbox-preflight issue 1; Kodak workflow help; PDFlib tutorial, table 9.5"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What is missing, doubled or out of place."""
        for message in (sheet.flaw,) if sheet.flaw else _amiss(sheet):
            yield self.found(sheet.number, message)


def _amiss(sheet: PdfPage) -> Iterator[str]:
    page = sheet.page
    if "/TrimBox" not in page and "/ArtBox" not in page:
        yield "the page has no TrimBox"
    if "/TrimBox" in page and "/ArtBox" in page:
        yield "the page has both a TrimBox and an ArtBox"
    trim = sheet.trim if "/TrimBox" in page else read_box(page.artbox)
    if "/BleedBox" in page and not sheet.bleed.holds(trim, SLACK):
        yield "the trim reaches outside the BleedBox"
    if not sheet.media.holds(trim, SLACK):
        yield "the trim reaches outside the MediaBox"
    if "/BleedBox" in page and not sheet.media.holds(sheet.bleed, SLACK):
        yield "the BleedBox reaches outside the MediaBox"
    if "/CropBox" in page and not (sheet.crop.holds(sheet.bleed, SLACK) and sheet.media.holds(sheet.crop, SLACK)):
        yield "the CropBox cuts into the bleed, or reaches outside the MediaBox"
    if min(trim.width, trim.height) < 1:
        yield "the trim is empty"
    if float(look(page, "/UserUnit", 1)) != 1:
        yield "the page is scaled by a UserUnit, which PDF 1.4 does not know"
