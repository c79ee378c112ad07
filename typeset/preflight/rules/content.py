"""What is drawn makes sense."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import BOTH, Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.image import image_flaw
from cagework.typeset.reader.keys import look


class Content(PageRule):
    """What a viewer passes over, a press may stop at. A page that cannot be read to the end is a finding too."""

    number = 32
    statement = ("What a page draws makes sense: known operators, q and Q in pairs, every resource there, "
        "images of "
                 "a possible size, and no more than can be held.")
    source = "ISO 32000-1, 7.8.2 (content streams), 7.8.3 (resources), 8.4.2 (q and Q) and 8.9.5 (images)"
    purposes = BOTH

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding for each kind of nonsense."""
        drawing = sheet.walk()
        for problem, count in drawing.problems.items():
            times = f" ({count} times)" if count > 1 else ""
            yield self.found(sheet.number, f"the page's content makes no sense: {problem}{times}", problem=problem,
                             count=count)
        if drawing.broken:
            yield self.found(sheet.number, f"the page cannot be read to the end: {drawing.broken}",
                             problem=drawing.broken)
        for held in sheet.things:
            if look(held.thing, "/Subtype") == "/Image" and (flaw := image_flaw(held.thing)):
                yield self.found(sheet.number, f"an image cannot be printed: {flaw}", problem=flaw)
