"""Only gray, CMYK and the spot inks that have a plate."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import chain

from pypdf.generic import StreamObject

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.colour import Space, read_space
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.image import own_colours
from cagework.typeset.reader.keys import look
from cagework.typeset.reader.paint import PaintKind

_PLAIN = {"DeviceGray", "DeviceCMYK", "Indexed", "Pattern", "Separation", "DeviceN"}
_MANAGED = {"ICCBased", "CalGray", "CalRGB", "Lab", "unstated"}
_PROCESS = {"All", "None", "Cyan", "Magenta", "Yellow", "Black"}


class Colours(PageRule):
    """Every colour painted with, in images, shadings, glyphs, masks and annotations too, and those that groups are
    mixed in. Spot inks are refused where there is no plate for them."""

    number = 25
    statement = ("Only gray, CMYK and spot inks that were announced: no RGB, no other inks, and in PDF/X-1a no "
                 "colour by profile.")
    source = "Kodak workflow help; noduffstuff.co.uk on PDF/X-1a; PDFlib tutorial, table 10.2; Esko on PDF/X-4"

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """One finding for each kind of colour that is barred."""
        allowed = _PLAIN | (_MANAGED if document.standard is Standard.X4 else set())
        barred: Counter[str] = Counter()
        for space in chain((paint.colour.space for paint in sheet.drawn), _groups(sheet)):
            for part in space.chain():
                if part.family not in allowed:
                    barred[part.family] += 1
                barred.update(f"spot ink {name}" for name in part.names
                              if name not in _PROCESS | profile.spots)
        barred.update(_mislabelled(sheet))
        for name, count in sorted(barred.items()):
            yield self.found(sheet.number, f"{name} on the page: {count} found", space=name, count=count)


def _groups(sheet: PdfPage) -> Iterator[Space]:
    """The spaces that transparency groups are mixed in."""
    for held in sheet.things:
        if held.key == "/Group" and (space := look(held.thing, "/CS")) is not None:
            yield read_space(space, None)


def _mislabelled(sheet: PdfPage) -> Iterator[str]:
    """JPEG and JPEG 2000 images whose data have other colours than their label says."""
    images = [held.thing for held in sheet.things if look(held.thing, "/Subtype") == "/Image"]
    images += [paint.source for paint in sheet.drawn
               if paint.kind is PaintKind.IMAGE and not isinstance(paint.source, StreamObject)]
    for image in images:
        colours, label = own_colours(image), look(image, "/ColorSpace")
        if colours is None or look(image, "/ImageMask", False) is True:
            continue
        if label is None:
            if colours == 3:
                yield "RGB in a JPEG 2000 image"
        elif (count := read_space(label, None).count) and count != colours:
            yield f"an image of {colours} colours labelled as of {count}"
