"""Nothing lies over the page."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument, read_box
from cagework.typeset.reader.keys import each, look


class Annotations(PressRule):
    """Links, notes and form fields; those wholly outside the bleed, and trap networks, may stay."""

    number = 11
    statement = "No annotation inside the bleed, so no links in a press file."
    source = "pdfbox-preflight issue 1; Kodak workflow help, characteristics of PDF/X-1a"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding a page: how many annotations, and of what kinds."""
        for sheet in document.sheets:
            kinds = []
            for note in each(look(sheet.page, "/Annots")):
                kind = str(look(note, "/Subtype", "/unknown"))[1:]
                edges = look(note, "/Rect")
                if kind != "TrapNet" and (edges is None or sheet.bleed.meets(read_box(edges))):
                    kinds.append(kind)
            if kinds:
                shown = ", ".join(sorted(set(kinds)))
                yield self.found(sheet.number, f"annotations on the page: {len(kinds)} ({shown})",
                                 count=len(kinds), kinds=shown)
