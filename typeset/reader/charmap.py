"""A font's character codes to the characters they stand for (ISO 32000-1, 9.10.2 and 9.10.3)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from fontTools.agl import toUnicode
from fontTools.encodings.StandardEncoding import StandardEncoding
from pypdf.generic import StreamObject

from cagework.typeset.reader.keys import each, look

_BLOCK = re.compile(rb"beginbf(char|range)(.*?)endbf", re.DOTALL)
_PAIR = re.compile(rb"<([^<>]*)>\s*<([^<>]*)>")
_RANGE = re.compile(rb"<([^<>]*)>\s*<([^<>]*)>\s*(?:<([^<>]*)>|\[([^\]]*)\])")
_HEX = re.compile(rb"<([^<>]*)>")

_CODECS = {"/WinAnsiEncoding": "cp1252", "/MacRomanEncoding": "mac_roman"}


def read_chars(font: Any) -> dict[int, str]:
    """Code -> what it says, one character or a few; codes the font says nothing of are left out.

    A ToUnicode map counts for more than an encoding. One that is broken maps as much as can be read.
    """
    chars = read_encoding(font)
    mapping = look(font, "/ToUnicode")
    if isinstance(mapping, StreamObject):
        chars.update((code, said) for code, said in _mapped(mapping.get_data()) if said.strip("\0"))
    return chars


def _mapped(cmap: bytes) -> Iterator[tuple[int, str]]:
    for kind, block in _BLOCK.findall(cmap):
        if kind == b"char":
            for code, said in _PAIR.findall(block):
                yield _number(code), _text(said)
            continue
        for first, last, start, listed in _RANGE.findall(block):
            low, high = _number(first), min(_number(last), 0xFFFF)
            if listed:
                yield from zip(range(low, high + 1), map(_text, _HEX.findall(listed)), strict=False)
            elif base := _text(start):
                yield from ((code, base[:-1] + chr(min(ord(base[-1]) + code - low, 0x10FFFF)))
                            for code in range(low, high + 1))


def _number(digits: bytes) -> int:
    return int(b"".join(digits.split()) or b"0", 16)


def _text(digits: bytes) -> str:
    """UTF-16 in hexadecimal; a lone byte, as some writers have it, is its own character."""
    data = bytes.fromhex(digits.decode("ascii", "replace"))
    return data.decode("utf-16-be" if len(data) > 1 else "latin-1", "replace")


def read_encoding(font: Any) -> dict[int, str]:
    """Code -> character by a simple font's encoding alone; empty where the font keeps its own."""
    return {} if look(font, "/Subtype") == "/Type0" else dict(_encoded(font))


def _encoded(font: Any) -> Iterator[tuple[int, str]]:
    encoding = look(font, "/Encoding")
    base = encoding if isinstance(encoding, str) else look(encoding, "/BaseEncoding")
    if base in _CODECS:
        for code in range(32, 256):
            yield code, bytes((code,)).decode(_CODECS[base], "replace")
    elif (look(font, "/Subtype") == "/Type1" and encoding is None) or base == "/StandardEncoding":
        yield from ((code, toUnicode(name)) for code, name in enumerate(StandardEncoding) if name != ".notdef")
    code = 0
    for item in each(look(encoding, "/Differences")):
        if isinstance(item, str):
            yield code, toUnicode(item.removeprefix("/"))
            code += 1
        else:
            code = int(item)
