"""The file does nothing by itself."""

from __future__ import annotations

from collections.abc import Iterator

from pypdf.generic import StreamObject

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PageRule
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import each, look, outline_entries


class Actions(PageRule):
    """Scripts, actions, forms, attached files, PostScript and stand-ins for images."""

    number = 10
    statement = ("No actions, scripts, forms, attached files, PostScript, OPI, alternate images or references to "
                 "other files.")
    source = "pdfbox-preflight issue 1; automatizarpdf.com on PDF/X-1a"

    def whole(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What the catalogue and the bookmarks hold of it."""
        root = document.root
        held = [key for key in ("/OpenAction", "/AA", "/AcroForm", "/AF", "/Collection") if key in root]
        held += [key for key in ("/JavaScript", "/EmbeddedFiles") if look(look(root, "/Names"), key) is not None]
        if each(look(root, "/OpenAction")):
            held.remove("/OpenAction")  # a place to open at, no action
        if any("/A" in entry for entry in outline_entries(root)):
            held.append("/A of a bookmark")
        for key in held:
            yield self.found(None, f"the file holds {key[1:]}", key=key[1:])

    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What a page, its annotations and all below them hold of it."""
        held = ["additional actions"] if "/AA" in sheet.page else []
        for note in each(look(sheet.page, "/Annots")):
            held += ["an annotation's action"] if look(note, "/A") is not None or "/AA" in (note or ()) else []
            held += ["an attached file"] if look(note, "/Subtype") == "/FileAttachment" else []
        for thing in (each_held.thing for each_held in sheet.things):
            held += ["PostScript"] if "/PS" in (look(thing, "/Subtype"), look(thing, "/Subtype2")) else []
            held += [key[1:] for key in ("/OPI", "/Alternates") if key in thing]
            held += ["an attached file"] if "/EF" in thing or "/AF" in thing else []
            held += ["a reference to another file"] if "/Ref" in thing and "/BBox" in thing else []
            held += ["data from another file"] if isinstance(thing, StreamObject) and "/F" in thing else []
        for what in dict.fromkeys(held):
            yield self.found(sheet.number, f"the page holds {what}", key=what)
