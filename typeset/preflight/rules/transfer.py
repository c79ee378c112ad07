"""Tones and screens are left to the press."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import look


class Transfer(PageRule):
    """Transfer functions and halftones in the graphics states a page lists."""

    number = 15
    statement = "No transfer functions; halftones only of type 1 or 5, without a name."
    source = "Kodak workflow help, characteristics of PDF/X-1a; pdfbox-preflight issue 1"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding for each of the two."""
        states = [held.thing for held in sheet.things if held.is_state]
        if any("/TR" in state or look(state, "/TR2", "/Default") != "/Default" for state in states):
            yield self.found(sheet.number, "the page changes tones by a transfer function")
        screens = [screen for state in states if (screen := look(state, "/HT", "/Default")) != "/Default"]
        screens += [held.thing for held in sheet.things if held.holder == "/HT" and "/HalftoneType" in held.thing]
        if any("/TransferFunction" in screen for screen in screens if isinstance(screen, dict)):
            yield self.found(sheet.number, "the page changes tones by a halftone's transfer function")
        if any(look(screen, "/HalftoneType") not in (1, 5) or "/HalftoneName" in screen for screen in screens):
            yield self.found(sheet.number, "the page sets a halftone of its own")
