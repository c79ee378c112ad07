"""Nothing shines through."""

from __future__ import annotations

from collections.abc import Iterator

from pypdf.generic import DictionaryObject

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import each, entries, look


class Transparency(PressRule):
    """What lies ready in the page's resources counts, used or not."""

    number = 14
    statement = "No transparency in PDF/X-1a: no soft masks, no opacity under 1, no blend modes, no groups."
    source = ("Kodak workflow help, characteristics of PDF/X-1a; scope of NEN-ISO 15930-7 at "
              "standards.globalspec.com")

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding a page: what kinds of transparency it holds."""
        if document.standard is Standard.X4:
            return
        for sheet in document.sheets:
            kinds = list(dict.fromkeys(_kinds(sheet)))
            if kinds:
                shown = ", ".join(kinds)
                yield self.found(sheet.number, f"transparency on the page: {shown}", kinds=shown)


def _kinds(sheet: PdfPage) -> Iterator[str]:
    if _is_group(sheet.page):
        yield "a page group"
    for resources in sheet.resources:
        for _, state in entries(resources, "/ExtGState"):
            if look(state, "/SMask", "/None") != "/None":
                yield "a soft mask"
            if any(float(look(state, key, 1)) < 1 for key in ("/ca", "/CA")):
                yield "an opacity under 1"
            modes = each(look(state, "/BM")) or [look(state, "/BM", "/Normal")]
            if any(mode not in ("/Normal", "/Compatible") for mode in modes):
                yield "a blend mode"
        for _, thing in entries(resources, "/XObject"):
            if "/SMask" in thing or float(look(thing, "/SMaskInData", 0)) > 0:
                yield "an image with a soft mask"
            if _is_group(thing):
                yield "a group"


def _is_group(thing: DictionaryObject) -> bool:
    return bool(look(look(thing, "/Group"), "/S") == "/Transparency")
