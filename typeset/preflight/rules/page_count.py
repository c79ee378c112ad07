"""The pages fold into whole sheets."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument


class PageCount(PressRule):
    """Only where the profile names a multiple."""

    number = 19
    statement = "The page count is a multiple of what the binding needs."
    source = "krakenprint.com on page count and signatures: 4 always, 8 or 16 cheaper"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """A count that leaves a remainder."""
        count = len(document.sheets)
        if profile.multiple > 1 and count % profile.multiple:
            yield self.found(None, f"{count} pages are not a multiple of {profile.multiple}: "
                                   f"{-count % profile.multiple} more would be",
                             pages=count, multiple=profile.multiple)
