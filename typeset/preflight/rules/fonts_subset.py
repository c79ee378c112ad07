"""A font brings only what is used."""

from __future__ import annotations

import re
from collections.abc import Iterator

from cagework.typeset.faults import Severity
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage, is_embedded
from cagework.typeset.reader.keys import look


class FontsSubset(PageRule):
    """A subset's name begins with six capitals and a plus sign; Type 3 fonts hold only what they draw."""

    number = 24
    statement = "Embedded fonts are subsets."
    source = "ISO 32000-1, 9.6.4 (the name of a subset); common practice"
    severity = Severity.WARNING

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Each font embedded whole."""
        names = {str(look(font, "/BaseFont", ""))[1:] for font in sheet.fonts
                 if is_embedded(font) and look(font, "/Subtype") != "/Type3"}
        for name in sorted(names):
            if not re.match(r"[A-Z]{6}\+", name):
                yield self.found(sheet.number, f"the font {name} is embedded whole", font=name)
