"""Nothing shines through."""

from __future__ import annotations

from collections.abc import Iterator

from pypdf.generic import DictionaryObject

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import each, look


class Transparency(PageRule):
    """What lies ready in the page's resources counts, used or not."""

    number = 14
    statement = "No transparency in PDF/X-1a: no soft masks, no opacity under 1, no blend modes, no groups."
    source = ("Kodak workflow help, characteristics of PDF/X-1a; scope of NEN-ISO 15930-7 at "
              "standards.globalspec.com")

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding: what kinds of transparency the page holds."""
        if document.standard is Standard.X4:
            return
        kinds = list(dict.fromkeys(_kinds(sheet)))
        if kinds:
            shown = ", ".join(kinds)
            yield self.found(sheet.number, f"transparency on the page: {shown}", kinds=shown)


def _kinds(sheet: PdfPage) -> Iterator[str]:
    if _is_group(sheet.page):
        yield "a page group"
    for note in each(look(sheet.page, "/Annots")):
        if float(look(note, "/CA", 1)) < 1 or look(note, "/BM", "/Normal") != "/Normal":
            yield "an annotation that is not opaque"
    for held in sheet.things[1:]:
        thing = held.thing
        if held.is_state:
            yield from _of_state(thing)
        elif "/SMask" in thing or float(look(thing, "/SMaskInData", 0)) > 0:
            yield "an image with a soft mask"
        if _is_group(thing):
            yield "a group"


def _of_state(state: DictionaryObject) -> Iterator[str]:
    if look(state, "/SMask", "/None") != "/None":
        yield "a soft mask"
    if any(float(look(state, key, 1)) < 1 for key in ("/ca", "/CA")):
        yield "an opacity under 1"
    modes = each(look(state, "/BM")) or [look(state, "/BM", "/Normal")]
    if any(mode not in ("/Normal", "/Compatible") for mode in modes):
        yield "a blend mode"


def _is_group(thing: DictionaryObject) -> bool:
    return bool(look(look(thing, "/Group"), "/S") == "/Transparency")
