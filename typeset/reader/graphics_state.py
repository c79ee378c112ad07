"""The graphics state as a page's operators change it (ISO 32000-1, 8.4 and 9.3), and strings set in it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any, NamedTuple

from cagework.typeset.reader.colour import BLACK, Colour
from cagework.typeset.reader.embedded_font import EmbeddedFont
from cagework.typeset.reader.geometry import UNMOVED, Matrix, Rectangle
from cagework.typeset.reader.style import PLAIN, Style

_TOGETHER = 0.2
"""Moves of the pen up to this, in ems, leave letters together: they are what kerning asks. After a blank, any to
the right do.
"""

_STRING = 32_767
"""Bytes of a string in a content stream, at the most (ISO 32000-1, annex C)."""

_FEW, _REMEMBERED = 4, 4096
"""Bytes up to which a string is remembered as it is set, and how many of them a face does, at the most."""


class GlyphRun(NamedTuple):
    """Letters set together, from where the pen is before them, in text space; `at` times `scale` is where each
    starts, and last where the pen ends; `inked` is how far the ink reaches. `chars` is what each says, empty where
    the font does not tell.
    """

    start: float
    inked: float
    at: Sequence[float]
    scale: float
    chars: tuple[str, ...]


@dataclass(slots=True)
class GraphicsState:
    """The part of the graphics state that is asked about; `dataclasses.replace` makes a copy to keep."""

    matrix: Matrix
    clip: Rectangle
    fill: Colour = BLACK
    stroke: Colour = BLACK
    width: float = 1.0
    face: EmbeddedFont | None = None
    size: float = 0.0
    spacing: float = 0.0
    word_spacing: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    style: Style = PLAIN
    slit: float = math.inf      # how thin the clip is at its thinnest, where that is little

    @property
    def weight(self) -> float:
        """How thick a line comes out at the least, in the page's points."""
        return self.width if self.matrix is UNMOVED else self.width * self.matrix.least

    def slit_of(self, thickness: float | None) -> float | None:
        """How thin a thing comes out behind the clip; None where neither is known to be thin."""
        if self.slit == math.inf:
            return thickness
        return self.slit if thickness is None else min(thickness, self.slit)

    @property
    def dash(self) -> tuple[tuple[float, ...], float]:
        """The dash pattern in the page's points."""
        lengths, phase = self.style.dash
        if not lengths or self.matrix is UNMOVED:
            return self.style.dash
        scale = self.matrix.across
        return tuple([length * scale for length in lengths]), phase * scale

    def set_strings(self, parts: Sequence[bytes | float], pen: float) -> Iterable[GlyphRun]:
        """Strings, and moves of the pen between them in thousandths of an em to the left, set from `pen` on, as
        runs of letters that stand together. The last run may be empty, and says where the pen ends. ValueError
        where no font was chosen.
        """
        if self.face is None:
            raise ValueError("text before any font is chosen")
        if len(parts) == 1 and isinstance(parts[0], bytes) and len(parts[0]) <= _FEW:
            return (self._few(self.face, parts[0], pen),)
        return self._set(self.face, parts, pen)

    def _few(self, face: EmbeddedFont, string: bytes, pen: float) -> GlyphRun:
        """A string of a few letters, which the face remembers: grids are full of the same figures."""
        key = string, self.size, self.stretch, self.spacing, self.word_spacing
        run = face.known.get(key)
        if run is None:
            run = self._run(face, face.codes(string), (), 0.0)
            if len(face.known) < _REMEMBERED:
                face.known[key] = run
        return run._replace(start=pen) if pen else run

    def _together(self, face: EmbeddedFont, parts: Sequence[bytes | float], pen: float) -> GlyphRun | None:
        """The run of strings and moves by turns where all its letters stand together; else None."""
        strings: Any = parts[::2]
        moves: Any = parts[1::2]
        if face.code_bytes != 1 or set(map(type, strings)) != {bytes} or set(map(type, moves)) - {float}:
            return None
        lengths = list(map(len, strings))
        if min(lengths) == 0 or max(lengths) > _STRING or max(moves, default=0.0) > 1000 * _TOGETHER:
            return None
        codes = b"".join(strings)
        run = [(end - 1, -move / 1000) for end, move in zip(accumulate(lengths), moves, strict=False)]
        if min(moves, default=0.0) < -1000 * _TOGETHER and not all(
                move <= _TOGETHER or face.chars[codes[last]].isspace() for last, move in run):
            return None
        return self._run(face, codes, run, pen)

    def _set(self, face: EmbeddedFont, parts: Sequence[bytes | float], pen: float) -> Iterator[GlyphRun]:
        scale = self.size * self.stretch
        if parts and isinstance(parts[0], float):
            pen += -parts[0] / 1000 * scale
            parts = parts[1:]
        if (whole := self._together(face, parts, pen)) is not None:
            yield whole
            return
        codes: list[int] = []
        moves: list[tuple[int, float]] = []
        for part in parts:
            if isinstance(part, bytes):
                if len(part) > _STRING:
                    raise ValueError(f"a string of {len(part)} bytes; {_STRING} are the most")
                codes += face.codes(part)
                continue
            move = -part / 1000
            if codes and move >= -_TOGETHER and (move <= _TOGETHER or face.chars[codes[-1]].isspace()):
                moves.append((len(codes) - 1, move))
            elif codes:
                yield (run := self._run(face, codes, moves, pen))
                pen += run.at[-1] * scale + move * scale
                codes, moves = [], []
            else:
                pen += move * scale
        yield self._run(face, codes, moves, pen)

    def _run(
        self, face: EmbeddedFont, codes: Sequence[int], moves: Iterable[tuple[int, float]], pen: float,
    ) -> GlyphRun:
        scale = self.size * self.stretch
        advances = list(map(face.widths.__getitem__, codes))
        last = len(codes) - 1
        while last >= 0 and face.spaces(codes[last]):
            last -= 1
        ink = advances[last] if last >= 0 else 0.0
        if (self.spacing or self.word_spacing) and scale:
            by, more = self.spacing * self.stretch / scale, self.word_spacing * self.stretch / scale
            advances = [advance + by + (more if face.spaces(code) else 0.0)
                        for advance, code in zip(advances, codes, strict=True)]
        for index, move in moves:
            advances[index] += move
        at = list(accumulate(advances, initial=0.0))
        inked = (at[last] + ink) * scale if last >= 0 else 0.0
        return GlyphRun(pen, inked, at, scale, tuple(map(face.chars.__getitem__, codes)))
