"""The file was written in one go."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.faults import Severity
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument


class SingleSave(PressRule):
    """Changes appended to a finished file broke PDF/X-4 checks in a field report."""

    number = 8
    statement = "Nothing was appended to the file after it was finished."
    source = "github.com/OSGeo/gdal/issues/10436"
    severity = Severity.WARNING

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """More than one end of file."""
        if document.endings > 1:
            yield self.found(None, f"the file was changed by appending, {document.endings - 1} times",
                             times=document.endings - 1)
