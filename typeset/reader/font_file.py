"""Whether an embedded font file holds shapes at all (ISO 32000-1, 9.9): its head, its tables, its glyphs."""

from __future__ import annotations

import io
import struct
from typing import Any

from fontTools.cffLib import CFFFontSet
from pypdf.generic import StreamObject

from cagework.typeset.reader.keys import look

_SFNT = (b"\0\1\0\0", b"true", b"OTTO", b"ttcf")
_TABLES = 64
"""More tables than that no font has."""


class FontFiles:
    """The font files of one file, each looked into once; a descriptor is kept, so that its id stays its own."""

    def __init__(self) -> None:
        self._found: dict[int, tuple[Any, str]] = {}

    def flaw(self, descriptor: Any) -> str:
        """What is wrong with the font file a descriptor names; empty where nothing is, or there is none."""
        if id(descriptor) not in self._found:
            self._found[id(descriptor)] = descriptor, _flaw(descriptor)
        return self._found[id(descriptor)][1]


def _flaw(descriptor: Any) -> str:
    for key in ("/FontFile", "/FontFile2", "/FontFile3"):
        stream = look(descriptor, key)
        if stream is None:
            continue
        if not isinstance(stream, StreamObject):
            return "it is no font file"
        try:
            data = stream.get_data()
        except Exception:
            return "it cannot be unpacked"
        if not data:
            return "it is empty"
        if key == "/FontFile":
            return _type1(data)
        if key == "/FontFile2" or look(stream, "/Subtype") == "/OpenType" or data[:4] in _SFNT:
            return _sfnt(data)
        return _cff(data)
    return ""


def _type1(data: bytes) -> str:
    body = data[6:] if data[:2] == b"\x80\x01" else data
    return "" if body.startswith(b"%!") and b"eexec" in data else "it is no Type 1 font"


def _sfnt(data: bytes) -> str:
    if data[:4] not in _SFNT or len(data) < 12:
        return "it is no TrueType or OpenType font"
    if data[:4] == b"ttcf":
        return ""
    count = struct.unpack(">H", data[4:6])[0]
    if not 0 < count <= _TABLES or len(data) < 12 + 16 * count:
        return "its list of tables makes no sense"
    tables = {}
    for at in range(12, 12 + 16 * count, 16):
        name, _, start, size = struct.unpack(">4sIII", data[at:at + 16])
        if start + size > len(data) + 3:
            return "it is cut off"
        tables[name] = size
    if b"CFF " in tables:
        return ""
    missing = [name.decode() for name in (b"head", b"loca", b"glyf") if name not in tables]
    return f"it lacks {', '.join(missing)}" if missing else ""


def _cff(data: bytes) -> str:
    try:
        fonts = CFFFontSet()
        fonts.decompile(io.BytesIO(data), None)
        return "" if len(fonts[0].CharStrings.keys()) else "it holds no glyphs"
    except Exception:   # fontTools stumbles over garbage in many ways
        return "it is no compact font (CFF)"
