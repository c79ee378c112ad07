"""What a page's content does that its paints do not tell: clips of any shape, letters without ink, and resources
that give colours another meaning.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from pypdf.generic import StreamObject

from cagework.typeset.readback.difference import Difference
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.keys import entries, look
from cagework.typeset.reader.operations import Operation, operations

_ASKED = re.compile(rb"(?:W(?<![A-Za-z/]W)\*?|Tr(?<![A-Za-z/]Tr))(?![A-Za-z])")
"""Clips and text modes: where a stream has none, it need not be read again."""

_MEANINGS = ("/DefaultGray", "/DefaultRGB", "/DefaultCMYK")
"""Names that change what plain colours are (ISO 32000-1, 8.6.5.6)."""

_TRANSFERS = ("/TR", "/TR2")
_PLAIN = ("/Identity", "/Default")
"""Functions that change how dark colours are (ISO 32000-1, table 58), and those that do not."""


def compare_contents(document: PdfDocument, sheet: PdfPage) -> Iterator[Difference]:
    """What of the kind is on a page; a book's has none."""
    said = dict.fromkeys(message for data, stream in _streams(sheet)
                         for message in _in_stream(data, stream, document))
    said.update(dict.fromkeys(_in_resources(sheet)))
    for message in said:
        yield Difference(sheet.number, "content", None, message)


def _streams(sheet: PdfPage) -> Iterator[tuple[bytes, Any]]:
    """The bytes of each content stream on a page, or below it, and what holds them."""
    if data := sheet.unpack():
        yield data, look(sheet.page, "/Contents")
    for resources in sheet.resources:
        for kind in ("/XObject", "/Pattern"):
            for _, thing in entries(resources, kind):
                if isinstance(thing, StreamObject) and look(thing, "/Subtype") != "/Image":
                    yield thing.get_data(), thing


def _in_stream(data: bytes, stream: Any, document: PdfDocument) -> Iterator[str]:
    if not _ASKED.search(data):
        return
    found = operations(stream, document.reader)
    for at, (operands, name) in enumerate(found):
        if name in ("W", "W*") and not _is_upright(_path(found, at)):
            yield "a clip that is no rectangle may hide a part of the page"
        elif name == "Tr" and int(float(operands[0])) % 4 == 3:
            yield "letters are set that leave no ink"


def _path(found: Sequence[Operation], at: int) -> Sequence[Operation]:
    """The operations that build the path which ends at one."""
    start = at
    while start and found[start - 1][1] in ("m", "l", "c", "v", "y", "re", "h"):
        start -= 1
    return found[start:at]


def _is_upright(path: Iterable[Operation]) -> bool:
    """Whether a path is nothing but upright rectangles, one after another."""
    corners: list[tuple[float, float]] = []
    for operands, name in path:
        if name in ("c", "v", "y"):
            return False
        if name in ("m", "l"):
            corners.append((float(operands[0]), float(operands[1])))
    level = all(abs(x - u) < _LEVEL or abs(y - v) < _LEVEL for (x, y), (u, v) in pairwise(corners))
    return level and all(len({round(one[way], 2) for one in corners}) <= 2 for way in (0, 1))


_LEVEL = 0.01
"""Units by which a side's ends may differ that is level or upright."""


def _in_resources(sheet: PdfPage) -> Iterator[str]:
    for resources in sheet.resources:
        for name in _MEANINGS:
            if look(look(resources, "/ColorSpace"), name) is not None:
                yield f"plain colours are given another meaning ({name[1:]})"
        for _, state in entries(resources, "/ExtGState"):
            for key in _TRANSFERS:
                if key in state and look(state, key) not in _PLAIN:
                    yield f"colours are printed lighter or darker than they are ({key[1:]})"
