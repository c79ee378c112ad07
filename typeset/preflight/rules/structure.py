"""The file is whole."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import BOTH, Finding, PressRule
from cagework.typeset.reader.document import PdfDocument


class Structure(PressRule):
    """What a forgiving reader had to mend, a press may choke on."""

    number = 1
    statement = "The file is whole: nothing had to be mended to read it."
    source = "ISO 32000-1, 7.5 (file structure)"
    purposes = BOTH

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """The first thing that had to be mended."""
        if document.damage:
            yield self.found(None, f"the file is damaged, though it could be read: {document.damage}")
