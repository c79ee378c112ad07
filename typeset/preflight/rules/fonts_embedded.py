"""Every font comes with the file."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import BOTH, Finding, PressRule
from cagework.typeset.reader.document import PdfDocument, is_embedded
from cagework.typeset.reader.keys import entries, look


class FontsEmbedded(PressRule):
    """Fonts listed count as well as fonts used."""

    number = 23
    statement = "Every font a page uses or lists is embedded, the 14 standard ones included."
    source = "PDFlib tutorial, table 9.5; noduffstuff.co.uk on PDF/X-1a"
    flavours = BOTH

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Each font that is not embedded, page by page."""
        for sheet in document.sheets:
            names = {str(look(font, "/BaseFont", "/unnamed"))[1:] for resources in sheet.resources
                     for _, font in entries(resources, "/Font") if not is_embedded(font)}
            for name in sorted(names):
                yield self.found(sheet.number, f"the font {name} is not embedded", font=name)
