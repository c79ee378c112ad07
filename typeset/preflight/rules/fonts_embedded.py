"""Every font comes with the file."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import BOTH, Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage, font_descriptor, is_embedded
from cagework.typeset.reader.keys import look


class FontsEmbedded(PageRule):
    """Fonts listed count as well as fonts used."""

    number = 23
    statement = ("Every font a page uses or lists is embedded, the 14 standard ones included, by a file that "
        "holds "
                 "shapes.")
    source = "PDFlib tutorial, table 9.5; noduffstuff.co.uk on PDF/X-1a"
    purposes = BOTH

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Each font that is not embedded, or by a file that holds no font."""
        found = set()
        for font in sheet.fonts:
            name = str(look(font, "/BaseFont", "/unnamed"))[1:]
            if not is_embedded(font):
                found.add((name, f"the font {name} is not embedded"))
            elif flaw := document.font_files.flaw(font_descriptor(font)):
                found.add((name, f"the font {name} is embedded by a file that cannot be used: {flaw}"))
        for name, message in sorted(found):
            yield self.found(sheet.number, message, font=name)
