"""The file does nothing by itself."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.keys import each, entries, look, outline_entries


class Actions(PressRule):
    """Scripts, actions, forms, attached files, PostScript and stand-ins for images."""

    number = 10
    statement = "No actions, scripts, forms, attached files, PostScript, OPI or alternate images."
    source = "pdfbox-preflight issue 1; automatizarpdf.com on PDF/X-1a"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What the catalogue, the bookmarks, the pages and their resources hold of it."""
        root = document.root
        held = [key for key in ("/OpenAction", "/AA", "/AcroForm") if key in root]
        held += [key for key in ("/JavaScript", "/EmbeddedFiles") if look(look(root, "/Names"), key) is not None]
        if each(look(root, "/OpenAction")):
            held.remove("/OpenAction")  # a place to open at, no action
        if any("/A" in entry for entry in outline_entries(root)):
            held.append("/A of a bookmark")
        for key in held:
            yield self.found(None, f"the file holds {key[1:]}", key=key[1:])
        for sheet in document.sheets:
            held = ["additional actions"] if "/AA" in sheet.page else []
            for resources in sheet.resources:
                for _, thing in entries(resources, "/XObject"):
                    held += ["PostScript"] if "/PS" in (look(thing, "/Subtype"), look(thing, "/Subtype2")) else []
                    held += [key[1:] for key in ("/OPI", "/Alternates") if key in thing]
            for what in dict.fromkeys(held):
                yield self.found(sheet.number, f"the page holds {what}", key=what)
