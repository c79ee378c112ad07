"""A font as a page uses it: how its strings divide into characters, how far each moves the pen, what each says."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pypdf.generic import StreamObject

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
    """Advances in ems and characters, of every code, and how many bytes a code takes.

    A Type 3 font has `procedures`, code -> the stream that draws its glyph, `matrix` and `resources` for them, and
    `unit`, how large its glyphs are beside those of any other font at the same size. `known` is for whoever sets
    letters in it, to remember how.
    """

    widths: Mapping[int, float]
    code_bytes: int
    chars: Mapping[int, str]
    procedures: Mapping[int, Any] = field(default_factory=dict)
    matrix: tuple[float, ...] = (0.001, 0.0, 0.0, 0.001, 0.0, 0.0)
    resources: Any = None
    unit: float = 1.0
    known: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)

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
    if look(font, "/Subtype") == "/Type3":
        return _drawn(font, _Widths(widths, missing), chars)
    return EmbeddedFont(_Widths(widths, missing), 1, _Chars(chars))


def _drawn(font: Any, widths: _Widths, chars: Mapping[int, str]) -> EmbeddedFont:
    """A Type 3 font (ISO 32000-1, 9.6.5)."""
    matrix = numbers(look(font, "/FontMatrix"))[:6]
    listed = look(font, "/CharProcs")
    procedures, code = {}, 0
    for item in each(look(look(font, "/Encoding"), "/Differences")):
        if not isinstance(item, str):
            code = int(item)
            continue
        if isinstance(glyph := look(listed, item), StreamObject):
            procedures[code] = glyph
        code += 1
    return EmbeddedFont(widths, 1, _Chars(chars), procedures, matrix, look(font, "/Resources"),
                        _unit(font, matrix, procedures.values()))


_BOX = re.compile(rb"\A\s*" + rb"[-+.0-9]+\s+" * 2 + rb"([-+.0-9]+)\s+" * 4 + rb"d1\b")
_LETTER = 0.7
"""How high a capital is, in ems: a font that states no box is measured by its tallest glyph."""


def _unit(font: Any, matrix: tuple[float, ...], glyphs: Iterable[Any]) -> float:
    """The height of a Type 3 font's box in text space, or twice its width where it is squeezed."""
    edges = numbers(look(font, "/FontBBox"))
    across, up = math.hypot(*matrix[:2]), math.hypot(*matrix[2:4])
    if len(edges) == 4 and edges[3] > edges[1] and edges[2] > edges[0]:
        return min((edges[3] - edges[1]) * up, 2 * (edges[2] - edges[0]) * across)
    boxes = [tuple(map(float, found.groups())) for glyph in glyphs if (found := _BOX.match(glyph.get_data()))]
    if not boxes:
        return 1000 * up
    high, wide = max(box[3] - box[1] for box in boxes), max(box[2] - box[0] for box in boxes)
    return min(high * up / _LETTER, 2 * wide * across / _LETTER) or 1000 * up


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
