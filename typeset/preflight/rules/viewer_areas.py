"""A viewer shows the whole sheet."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.keys import look

_AREAS = ("/ViewArea", "/ViewClip", "/PrintArea", "/PrintClip")


class ViewerAreas(PressRule):
    """The viewer preferences that name a box."""

    number = 16
    statement = "ViewArea, ViewClip, PrintArea and PrintClip name the media or the bleed only."
    source = "PDFlib tutorial, table 10.3"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Each that names another box."""
        wishes = look(document.root, "/ViewerPreferences")
        for key in _AREAS:
            named = look(wishes, key, "/MediaBox")
            if named not in ("/MediaBox", "/BleedBox"):
                yield self.found(None, f"{key[1:]} is {named[1:]}; only MediaBox or BleedBox may be named",
                                 key=key[1:])
