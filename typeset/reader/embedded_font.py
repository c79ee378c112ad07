"""A font as a page uses it: how its strings divide into characters, how far each moves the pen, what each says."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cagework.typeset.reader.charmap import read_chars
from cagework.typeset.reader.keys import each, look, numbers

_UNKNOWN = 0.5
"""The advance, in ems, taken where a font states none (the 14 standard fonts may leave theirs out)."""


class _Widths(dict[int, float]):
    """Advances by code, and what a code without one has."""

    def __init__(self, known: Mapping[int, float], otherwise: float) -> None:
        super().__init__(known)
        self._otherwise = otherwise

    def __missing__(self, code: int) -> float:
        return self._otherwise


class _Chars(dict[int, str]):
    """Characters by code, empty for a code that says nothing."""

    def __missing__(self, code: int) -> str:
        return ""


@dataclass(frozen=True, slots=True)
class EmbeddedFont:
    """Advances in ems and characters, of every code, and how many bytes a code takes."""

    widths: Mapping[int, float]
    code_bytes: int
    chars: Mapping[int, str]

    def codes(self, text: bytes) -> Sequence[int]:
        """A string's character codes."""
        step = self.code_bytes
        if step == 1:
            return text
        return [int.from_bytes(text[start:start + step]) for start in range(0, len(text) - step + 1, step)]

    def spaces(self, code: int) -> bool:
        """Whether word spacing follows a character (ISO 32000-1, 9.3.3)."""
        return code == 32 and self.code_bytes == 1


Chars = Callable[[Any], Mapping[int, str]]
"""A font dictionary to what each of its codes says."""


class EmbeddedFonts:
    """The faces of one file, each read once; a font is kept with its face, so that its id stays its own.

    `chars` tells what a font's codes say.
    """

    def __init__(self, chars: Chars = read_chars) -> None:
        self._chars = chars
        self._read: dict[int, tuple[Any, EmbeddedFont]] = {}

    def of(self, font: Any) -> EmbeddedFont:
        """A font dictionary's face."""
        if id(font) not in self._read:
            self._read[id(font)] = (font, read_face(font, self._chars(font)))
        return self._read[id(font)][1]


def read_face(font: Any, chars: Mapping[int, str]) -> EmbeddedFont:
    """A font dictionary as a Face (ISO 32000-1, 9.6 and 9.7.4.3)."""
    if look(font, "/Subtype") == "/Type0":
        (below,) = each(look(font, "/DescendantFonts"))
        stated = _composite(each(look(below, "/W")))
        return EmbeddedFont(_Widths(stated, float(look(below, "/DW", 1000)) / 1000), 2, _Chars(chars))
    scale = numbers(look(font, "/FontMatrix"))[0] if look(font, "/Subtype") == "/Type3" else 0.001
    first = int(look(font, "/FirstChar", 0))
    widths = {first + index: width * scale for index, width in enumerate(numbers(look(font, "/Widths")))}
    descriptor = look(font, "/FontDescriptor")
    missing = float(look(descriptor, "/MissingWidth", 0)) * scale if widths else _UNKNOWN
    return EmbeddedFont(_Widths(widths, missing), 1, _Chars(chars))


def _composite(items: Sequence[Any]) -> dict[int, float]:
    """The /W array: `first [w w ...]` or `first last w`."""
    widths: dict[int, float] = {}
    at = 0
    while at + 1 < len(items):
        first = int(items[at])
        if isinstance(items[at + 1], list):
            widths.update((first + index, width / 1000) for index, width in enumerate(numbers(items[at + 1])))
            at += 2
        elif at + 2 < len(items):
            last = min(int(items[at + 1]), 0xFFFF)
            widths.update((code, float(items[at + 2]) / 1000) for code in range(first, last + 1))
            at += 3
        else:
            break
    return widths
