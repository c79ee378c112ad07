"""Tones and screens are left to the press."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.keys import entries, look


class Transfer(PressRule):
    """Transfer functions and halftones in the graphics states a page lists."""

    number = 15
    statement = "No transfer functions; halftones only of type 1 or 5, without a name."
    source = "Kodak workflow help, characteristics of PDF/X-1a; pdfbox-preflight issue 1"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding a page for each of the two."""
        for sheet in document.sheets:
            states = [state for resources in sheet.resources for _, state in entries(resources, "/ExtGState")]
            if any("/TR" in state or look(state, "/TR2", "/Default") != "/Default" for state in states):
                yield self.found(sheet.number, "the page changes tones by a transfer function")
            screens = [screen for state in states if (screen := look(state, "/HT", "/Default")) != "/Default"]
            if any(look(screen, "/HalftoneType") not in (1, 5) or "/HalftoneName" in screen for screen in screens):
                yield self.found(sheet.number, "the page sets a halftone of its own")
