"""All pages are cut alike."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import BOTH, Finding, PressRule
from cagework.typeset.reader.document import PdfDocument, PdfPage

_SLACK_MM = 0.1


class PageSize(PressRule):
    """Against the size asked for, or where none is, against most of the book's own pages."""

    number = 18
    statement = "Every page's trim is the size asked for, and all are alike, to 0.1 mm."
    source = "common practice"
    purposes = BOTH

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Each page of another size."""
        sizes = {sheet.number: _size(sheet) for sheet in document.sheets}
        wanted = profile.trim_mm or Counter(sizes.values()).most_common(1)[0][0]
        for number, size in sizes.items():
            if any(abs(one - other) > _SLACK_MM for one, other in zip(size, wanted, strict=True)):
                yield self.found(number, f"the page is {size[0]:g} x {size[1]:g} mm; "
                                         f"{wanted[0]:g} x {wanted[1]:g} mm is asked for",
                                 width_mm=size[0], height_mm=size[1])


def _size(sheet: PdfPage) -> tuple[float, float]:
    """Width and height of the trim as the page is turned, in mm."""
    width, height = (round(side, 2) for side in sheet.trim.size_mm)
    return (height, width) if sheet.page.rotation % 180 else (width, height)
