"""A file's fonts to what each of their codes shows, by the shapes themselves.

A font may say of a glyph that it is a 6 and draw a 5; printers print what is drawn. So each glyph's outline is
looked up among those of the layout's own faces, and what the font says of itself only helps to look.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterator, Mapping
from functools import cache, lru_cache, partial
from typing import Any

from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont
from pypdf.generic import StreamObject

from cagework.typeset.readback.page_content import UNKNOWN
from cagework.typeset.reader.charmap import read_chars, read_encoding
from cagework.typeset.reader.document import font_descriptor
from cagework.typeset.reader.keys import each, look
from cagework.typeset.text.fonts import Fonts, packaged_faces

Outline = tuple[Any, ...]
"""The strokes of a glyph's pen, in font units."""

_SYMBOL = 0xF000
"""Where the codes of a symbolic font may lie in its table (ISO 32000-1, 9.6.6.4)."""


_PLAIN = "".join(map(chr, range(0x21, 0x7F)))
_USUAL = bytes(range(0xA1, 0x100)).decode("cp1252") + bytes(range(0x80, 0xA0)).decode("cp1252", "ignore")
_SOFT_HYPHEN = "\u00ad"
_BLANK = " \u00a0" + _SOFT_HYPHEN
"""What is looked for first, and next; and what never is: blanks, and the hyphen that only says what it is for."""


class Letter(str):
    """A character as its glyph's shape shows it: the faces that have such glyphs, and what the font says it is,
    None where it says nothing.
    """

    __slots__ = ("faces", "told")

    faces: tuple[str, ...]
    told: str | None

    def __new__(cls, char: str, faces: tuple[str, ...], told: str | None) -> Letter:
        """A character of some faces."""
        letter = super().__new__(cls, char)
        letter.faces, letter.told = faces, told
        return letter

    def __reduce__(self) -> tuple[type[Letter], tuple[str, tuple[str, ...], str | None]]:
        return Letter, (str(self), self.faces, self.told)

    @property
    def is_true(self) -> bool:
        """Whether the font says what the glyph shows, or of a hyphen that it only divides a word."""
        return self.told in (None, str(self)) or (self.told == _SOFT_HYPHEN and self == "-")


class Shapes:
    """The outlines of a layout's faces, read when they are first looked for."""

    def __init__(self, fonts: Fonts) -> None:
        self._fonts = fonts
        self._faces: dict[str, _Outlines] = {}

    def chars(self, font: Any) -> dict[int, str]:
        """Code -> what it shows, a `Letter`; where no face has such a glyph, that it is not known.

        A font none of whose glyphs are any face's, as where another program redrew them, is taken at its word.
        """
        said = read_chars(font)
        program = look(font_descriptor(font), "/FontFile2")
        if not isinstance(program, StreamObject):
            return said
        try:
            drawn = dict(_drawn(font, _program(program.get_data())))
        except Exception:  # a damaged font can trip fontTools anywhere, by any error
            return said
        outlines = set(filter(None, drawn.values()))
        faces, known = self._closest(outlines, _PLAIN + "".join(said.values()))
        if not outlines <= known.keys():
            faces, known = self._closest(outlines, None)
        if outlines.isdisjoint(known):
            return said
        told = said if "/ToUnicode" in font else {}
        return said | {code: Letter(_agreed(known.get(outline, ""), said.get(code)), faces, told.get(code))
                       if outline else " " for code, outline in drawn.items()}

    def _closest(
        self, outlines: Collection[Outline], chars: str | None,
    ) -> tuple[tuple[str, ...], Mapping[Outline, str]]:
        """The faces that have most of some outlines, and outline -> the characters that look so of the first of
        them; looked for among `chars` and all those before, or all that the faces have.
        """
        if not self._faces:
            self._faces = {name: _Outlines(self._fonts[name].path.read_bytes())
                           for name in sorted(packaged_faces())}
        for face in self._faces.values():
            face.learn(chars)
        held = {name: sum(map(face.known.__contains__, outlines)) for name, face in self._faces.items()}
        most = max(held.values())
        faces = tuple(name for name, many in held.items() if many == most)
        return faces, self._faces[faces[0]].known


class _Outlines:
    """One face: `known` are the characters it was asked for, by their outlines; those that look alike together."""

    def __init__(self, program: bytes) -> None:
        self.known: dict[Outline, str] = {}
        self._outline, self._codes = _program(program).outline, _program(program).font.getBestCmap()
        self._asked = set(_BLANK)

    def learn(self, chars: str | None) -> None:
        """Ask for characters, or for all there are, the usual ones first."""
        for char in _USUAL + "".join(map(chr, sorted(self._codes))) if chars is None else chars:
            if char not in self._asked:
                self._asked.add(char)
                if ord(char) in self._codes and (outline := self._outline(self._codes[ord(char)])):
                    self.known[outline] = self.known.get(outline, "") + char


def _agreed(alike: str, said: str | None) -> str:
    """Of the characters that look alike, the one the font says it is, or else the first."""
    if said is not None and said in alike:
        return said
    return alike[:1] or UNKNOWN


class _Program:
    """A font program, and the outlines it was asked for by the names of glyphs."""

    def __init__(self, data: bytes) -> None:
        self.font = TTFont(io.BytesIO(data), lazy=True)
        self.outline = cache(partial(_outline, self.font.getGlyphSet()))


_program = lru_cache(maxsize=32)(_Program)      # the files of a book hold much the same ones


def _drawn(font: Any, program: _Program) -> Iterator[tuple[int, Outline]]:
    """Each code of a font and the outline it draws, empty where it leaves no ink."""
    for code, name in _names(font, program.font):
        yield code, program.outline(name)


def _names(font: Any, embedded: TTFont) -> Iterator[tuple[int, str]]:
    """Each code and the name of its glyph (ISO 32000-1, 9.6.6.4 and 9.7.4.2)."""
    order = embedded.getGlyphOrder()
    if look(font, "/Subtype") == "/Type0":
        (below,) = each(look(font, "/DescendantFonts"))
        table = look(below, "/CIDToGIDMap")
        data = table.get_data() if isinstance(table, StreamObject) else None
        for code in range(len(order) if data is None else len(data) // 2):
            glyph = code if data is None else int.from_bytes(data[2 * code:2 * code + 2])
            if 0 < glyph < len(order):
                yield code, order[glyph]
        return
    tables = {(table.platformID, table.platEncID): table.cmap for table in embedded["cmap"].tables}
    symbols, plain, unicode = (tables.get(key, {}) for key in ((3, 0), (1, 0), (3, 1)))
    named = read_encoding(font)
    for code in range(256):
        char = named.get(code, "")
        name = (symbols.get(_SYMBOL + code) or symbols.get(code) or plain.get(code)
                or (unicode.get(ord(char)) if len(char) == 1 else None))
        if name is not None:
            yield code, name


def _outline(glyphs: Any, name: str) -> Outline:
    """A glyph's outline from where its first stroke starts across, since programs that write fonts anew round the
    space before it; empty where it has no ink. KeyError where there is no such glyph.
    """
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    if not pen.value:
        return ()
    start = pen.value[0][1][0][0]
    return tuple((stroke, tuple((x - start, y) for x, y in points)) for stroke, points in pen.value)
