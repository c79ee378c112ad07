"""The XMP is whole, and says what the document information says."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.rule import Finding, PressRule
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.keys import look
from cagework.typeset.reader.metadata import pdf_moment, read_xmp, xmp_moment

_ASKED = ("title", "CreateDate", "ModifyDate", "MetadataDate", "CreatorTool", "Trapped", "DocumentID",
          "InstanceID", "VersionID", "RenditionClass")


_SAME = {"/Title": "title", "/Creator": "CreatorTool", "/Producer": "Producer", "/Trapped": "Trapped",
         "/CreationDate": "CreateDate", "/ModDate": "ModifyDate"}
"""What stands in the document information under one name stands in the XMP under another."""


class Xmp(PressRule):
    """PDF/X-1a may do without, but what there is must be XMP and must agree."""

    number = 6
    statement = ("XMP is well-formed and agrees with the document information; a PDF/X-4 file's has title, "
        "dates, tool, "
                 "trapping, ids, version and rendition class.")
    source = "PDFlib tutorial, XMP note; OfficeIMO pull request 2394, PDF/X read-back checks"

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What is broken, missing or contradicted."""
        fields: Mapping[str, str] = {}
        if document.xmp.strip():
            try:
                fields = read_xmp(document.xmp)
            except ValueError as error:
                yield self.found(None, f"the XMP cannot be read: {error}")
                return
        if document.standard is Standard.X4:
            missing = [name for name in _ASKED if not fields.get(name)]
            if missing:
                yield self.found(None, f"the XMP lacks {', '.join(missing)}", missing=", ".join(missing))
        for key, name in _SAME.items():
            inside, outside = fields.get(name), look(document.info, key)
            if inside and outside is not None and not _agree(str(outside), inside, "Date" in name):
                yield self.found(None, f"{key[1:]} is {str(outside)[:60]!r} in the document information, and "
                                       f"{inside[:60]!r} in the XMP", key=key[1:])


def _agree(outside: str, inside: str, are_dates: bool) -> bool:
    if not are_dates:
        return " ".join(outside.removeprefix("/").split()) == " ".join(inside.split())
    readers: tuple[Callable[[str], datetime | None], ...] = (pdf_moment, xmp_moment)
    one, other = (read(said) for read, said in zip(readers, (outside, inside), strict=True))
    if one is None or other is None:
        return one is None      # a date that is none is another rule's business
    if (one.tzinfo is None) != (other.tzinfo is None):
        return True             # which moment is meant cannot be told
    return abs((one - other).total_seconds()) < 60
