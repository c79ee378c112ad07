"""Nothing lies over the page."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage, read_box
from cagework.typeset.reader.keys import each, look, numbers


class Annotations(PageRule):
    """Links, notes and form fields; those wholly outside the bleed, and trap networks, may stay."""

    number = 11
    statement = "No annotation inside the bleed, so no links in a press file."
    source = "pdfbox-preflight issue 1; Kodak workflow help, characteristics of PDF/X-1a"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding a page: how many annotations, and of what kinds."""
        kinds = []
        for note in each(look(sheet.page, "/Annots")):
            kind = str(look(note, "/Subtype", "/unknown"))[1:]
            edges = numbers(look(note, "/Rect"))
            if kind != "TrapNet" and (len(edges) != 4 or sheet.bleed.meets(read_box(look(note, "/Rect")))):
                kinds.append(kind)
        if kinds:
            shown = ", ".join(sorted(set(kinds)))
            yield self.found(sheet.number, f"annotations on the page: {len(kinds)} ({shown})",
                             count=len(kinds), kinds=shown)
