"""PDF/X-4 carries its XMP."""

from __future__ import annotations

import re
from collections.abc import Iterator

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument

_ASKED = ("title", "CreateDate", "ModifyDate", "MetadataDate", "CreatorTool", "Trapped", "DocumentID",
          "InstanceID", "VersionID", "RenditionClass")


class Xmp(PressRule):
    """PDF/X-1a may do without."""

    number = 6
    statement = "A PDF/X-4 file's XMP has title, dates, tool, trapping, ids, version and rendition class."
    source = "PDFlib tutorial, XMP note; OfficeIMO pull request 2394, PDF/X read-back checks"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """The fields that are missing, in one finding."""
        if document.standard is Standard.X4:
            missing = [name for name in _ASKED if not re.search(rf"\w+:{name}\b".encode(), document.xmp)]
            if missing:
                yield self.found(None, f"the XMP lacks {', '.join(missing)}", missing=", ".join(missing))
