"""Where each letter of a laid-out text stands, reckoned from its face's own widths."""

from __future__ import annotations

from collections import defaultdict
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


_Chunk = tuple[tuple[str, ...], tuple[float, ...], tuple[float, ...], tuple[int, ...]]

_FEW, _REMEMBERED = 4, 4096
"""Letters up to which a text is remembered, and how many such texts, at the most."""


class Lettering:
    """Reckons letters in a book's faces."""

    def __init__(self, fonts: Fonts) -> None:
        self._fonts = fonts
        self._chunks: defaultdict[str, dict[str, _Chunk]] = defaultdict(dict)
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
        chunks, size, tracking = self._chunks[text.face], text.size, text.tracking
        said: list[str] = []
        starts: list[float] = []
        ends: list[float] = []
        for at, chunk in text.chunks:
            letters, begins, closes, places = chunks.get(chunk) or self._chunk(text.face, chunk)
            if tracking:
                shifts = [at + tracking * place for place in places]
                starts += [shift + size * em for shift, em in zip(shifts, begins, strict=True)]
                ends += [shift + size * em for shift, em in zip(shifts, closes, strict=True)]
            elif len(letters) == 1:
                starts.append(at + size * begins[0])
                ends.append(at + size * closes[0])
            else:
                starts += [at + size * em for em in begins]
                ends += [at + size * em for em in closes]
            said += letters
        return LaidRun(tuple(said), starts, ends)

    def _chunk(self, name: str, chunk: str) -> _Chunk:
        """A chunk's letters, blanks left out: where each starts and ends, in ems, and its place in the chunk."""
        face, em = self._fonts[name], 0.0
        starts: list[float] = []
        ends: list[float] = []
        for char in chunk:
            starts.append(em)
            em += face.advance(char) / face.units
            ends.append(em)
        inked = [place for place, char in enumerate(chunk) if not char.isspace()]
        found = (tuple([chunk[place] for place in inked]), tuple([starts[place] for place in inked]),
                 tuple([ends[place] for place in inked]), tuple(inked))
        if len(self._chunks[name]) < _REMEMBERED:
            self._chunks[name][chunk] = found
        return found

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
