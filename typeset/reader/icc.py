"""What an ICC profile says of itself (ICC.1:2010, 7.2 and 9.2): its size, its tags, its words."""

from __future__ import annotations

import struct
from collections.abc import Iterator

_HEADER = 128
_TAGS = 200
"""More tags than that no profile has."""


def profile_flaw(profile: bytes) -> str:
    """What is wrong with a profile's build; empty where nothing is."""
    if len(profile) < _HEADER + 4:
        return "it is cut off in its header"
    stated = struct.unpack(">I", profile[:4])[0]
    if stated > len(profile):
        return f"it is cut off: {len(profile)} of {stated} bytes are there"
    count = struct.unpack(">I", profile[_HEADER:_HEADER + 4])[0]
    if count > _TAGS or _HEADER + 4 + 12 * count > len(profile):
        return "its list of tags makes no sense"
    if any(start + size > len(profile) for _, start, size in _tags(profile)):
        return "it is cut off: a tag lies past its end"
    return ""


def _tags(profile: bytes) -> Iterator[tuple[bytes, int, int]]:
    count = struct.unpack(">I", profile[_HEADER:_HEADER + 4])[0]
    for at in range(_HEADER + 4, min(_HEADER + 4 + 12 * min(count, _TAGS), len(profile) - 11), 12):
        yield struct.unpack(">4sII", profile[at:at + 12])


def profile_words(profile: bytes) -> str:
    """A profile's description and the characterisation data it was made from, as far as they can be read."""
    said = []
    for name, start, size in _tags(profile):
        if name in (b"desc", b"targ"):
            said.append(_text(profile[start:start + min(size, 4096)]))
    return " ".join(said)


def _text(tag: bytes) -> str:
    match tag[:4]:
        case b"mluc":
            return tag[28:].decode("utf-16-be", "ignore")
        case b"desc":
            return tag[12:12 + int.from_bytes(tag[8:12])].decode("latin-1").strip("\0")
        case _:
            return tag[8:].decode("latin-1").strip("\0")
