"""Where each letter of a laid-out text stands, reckoned from its face's own widths."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from cagework.typeset.marks import Text
from cagework.typeset.readback.glyph_shapes import Letter
from cagework.typeset.reader.text_object import CAP
from cagework.typeset.text.fonts import Fonts


@dataclass(frozen=True, slots=True)
class LaidRun:
    """A text without its blanks: each letter, and where it starts, in pt right of the text's own start; and where
    the last ends.
    """

    said: tuple[str, ...]
    starts: Sequence[float]
    ends: Sequence[float]


    def part(self, first: int, end: int) -> LaidRun:
        """The letters from one up to another."""
        return LaidRun(self.said[first:end], self.starts[first:end], self.ends[first:end])


_FEW, _REMEMBERED = 4, 4096
"""Letters up to which a text is remembered, and how many such texts, at the most."""


class Lettering:
    """Reckons letters in a book's faces."""

    def __init__(self, fonts: Fonts) -> None:
        self._fonts = fonts
        self._ems: dict[str, dict[str, float]] = {}
        self._alike: dict[tuple[str, tuple[str, ...]], bool] = {}
        self._known: dict[tuple[object, ...], LaidRun] = {}

    def run(self, text: Text) -> LaidRun:
        """A text's letters along its baseline; grids are full of the same figures."""
        if len(text.chunks) != 1 or len(text.chunks[0][1]) > _FEW:
            return self._run(text)
        key = text.chunks, text.face, text.size, text.tracking
        known = self._known.get(key)
        if known is None:
            known = self._run(text)
            if len(self._known) < _REMEMBERED:
                self._known[key] = known
        return known

    def _run(self, text: Text) -> LaidRun:
        ems = self._ems.setdefault(text.face, {})
        size, tracking = text.size, text.tracking
        said: list[str] = []
        starts: list[float] = []
        ends: list[float] = []
        for at, chunk in text.chunks:
            for char in chunk:
                em = ems.get(char)
                if em is None:
                    face = self._fonts[text.face]
                    em = ems[char] = face.advance(char) / face.units
                end = at + em * size
                if not char.isspace():
                    said.append(char)
                    starts.append(at)
                    ends.append(end)
                at = end + tracking
        return LaidRun(tuple(said), starts, ends)

    def same_face(self, wanted: str, letter: str) -> bool | None:
        """Whether a letter of a file is drawn in a face of the book; None where that cannot be told."""
        if not isinstance(letter, Letter):
            return None
        key = wanted, letter.faces
        if key not in self._alike:
            digest = self._fonts[wanted].digest
            self._alike[key] = any(self._fonts[name].digest == digest for name in letter.faces)
        return self._alike[key]

    def box(self, text: Text) -> tuple[float, float, float, float]:
        """About the box of a turned text: left, top, right, bottom, y down."""
        run = self.run(text)
        turn = radians(text.angle)
        corners = [(along, up) for along in (run.starts[0], run.ends[-1]) for up in (0.0, -CAP * text.size)]
        xs = [text.x + along * cos(turn) - up * sin(turn) for along, up in corners]
        ys = [text.y + along * sin(turn) + up * cos(turn) for along, up in corners]
        return min(xs), min(ys), max(xs), max(ys)
