"""A font brings only what is used."""

from __future__ import annotations

import re
from collections.abc import Iterator

from cagework.typeset.faults import Severity
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument, is_embedded
from cagework.typeset.reader.keys import entries, look


class FontsSubset(PressRule):
    """A subset's name begins with six capitals and a plus sign; Type 3 fonts hold only what they draw."""

    number = 24
    statement = "Embedded fonts are subsets."
    source = "ISO 32000-1, 9.6.4 (the name of a subset); common practice"
    severity = Severity.WARNING

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Each font embedded whole, page by page."""
        for sheet in document.sheets:
            names = {str(look(font, "/BaseFont", ""))[1:] for resources in sheet.resources
                     for _, font in entries(resources, "/Font")
                     if is_embedded(font) and look(font, "/Subtype") != "/Type3"}
            for name in sorted(names):
                if not re.match(r"[A-Z]{6}\+", name):
                    yield self.found(sheet.number, f"the font {name} is embedded whole", font=name)
