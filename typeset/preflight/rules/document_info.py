"""Title, dates and trapping are stated."""

from __future__ import annotations

from collections.abc import Iterator

from pypdf.generic import NameObject

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.keys import look
from cagework.typeset.reader.metadata import pdf_moment


class DocumentInfo(PressRule):
    """The document information."""

    number = 5
    statement = "Title, CreationDate and ModDate are filled in, the dates as dates, and Trapped is True or False."
    source = ("blog.antenna.co.jp, PDFTool 2006-07-21; pdfbox-preflight issue 1; PDFlib tutorial, "
              "tables 10.2 and 10.3; ISO 32000-1, 7.9.4 (dates)")

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """Each key that is missing or says nothing."""
        for key in ("/Title", "/CreationDate", "/ModDate"):
            if not str(look(document.info, key, "")).strip():
                yield self.found(None, f"the document information has no {key[1:]}", key=key[1:])
            elif key != "/Title" and pdf_moment(str(look(document.info, key))) is None:
                said = str(look(document.info, key))[:40]
                yield self.found(None, f"{key[1:]} is no date: {said!r}", key=key[1:])
        trapped = look(document.info, "/Trapped")
        if not isinstance(trapped, NameObject) or trapped not in ("/True", "/False"):
            said = "missing" if trapped is None else str(trapped).lstrip("/")
            yield self.found(None, f"Trapped must be True or False, as a name; it is {said}", trapped=said)
