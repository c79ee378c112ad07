"""A text object's operators to the runs of letters they paint (ISO 32000-1, 9.4)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cagework.typeset.reader.geometry import UNMOVED, Matrix, Rectangle, box_round
from cagework.typeset.reader.graphics_state import GlyphRun, GraphicsState
from cagework.typeset.reader.paint import Paint, PaintKind, made

_SOLID: tuple[tuple[float, ...], float] = ((), 0.0)

CAP = 0.7
"""How far letters reach above the baseline, in ems: nearer to what is inked than a font's own box."""


class TextObject:
    """Where the next letters go: the text matrices, and how far the pen is from where its line began."""

    def __init__(self) -> None:
        self._line = UNMOVED
        self._pen = 0.0

    def begin(self, line: Matrix = UNMOVED) -> None:
        """Start a line at a place."""
        self._line = line
        self._pen = 0.0

    def move(self, x: float, y: float) -> None:
        """Start a line that far from where the last one began."""
        line = self._line
        self.begin(Matrix(1.0, 0.0, 0.0, 1.0, x, y) if line is UNMOVED else Matrix(e=x, f=y).then(line))

    def show(self, parts: Sequence[bytes | float], state: GraphicsState) -> Iterator[Paint]:
        """Set strings, and moves between them in thousandths of an em to the left."""
        for run in state.set_strings(parts, self._pen):
            self._pen = run.start + run.at[-1] * run.scale
            if run.inked and state.style.render % 4 != 3:
                yield self._paint(run, state)

    @staticmethod
    def sets_plainly(state: GraphicsState) -> bool:
        """Whether letters stand upright, unsqueezed, filled and unclipped: `plain` is for these."""
        face = state.face
        return (state.matrix is UNMOVED and face is not None and not face.procedures and state.size > 0
                and state.stretch == 1 and state.rise == 0 and state.style.render == 0 and state.slit == math.inf)

    def plain(self, x: float, y: float, parts: Sequence[bytes | float], state: GraphicsState) -> Iterator[Paint]:
        """The same as `show` does right after the line began at (x, y), with less ado."""
        size, unit = state.size, 1.0 if state.face is None else state.face.unit
        for start, inked, at, scale, chars in state.set_strings(parts, 0.0):
            self._pen = start + at[-1] * scale
            if inked:
                left = start + x
                box = made(Rectangle, (left, y, inked + left, CAP * size + y))
                yield made(Paint, (
                    PaintKind.TEXT, box, state.fill, None, size * unit, None, False, False, (), chars,
                    [left + scale * one for one in at], state.style, _SOLID, False, False, False, None, None,
                    False, False))

    def place(self, state: GraphicsState) -> Matrix:
        """Where the pen is, from text space to the page's."""
        return Matrix(e=self._pen).then(self._line.then(state.matrix))

    def _paint(self, run: GlyphRun, state: GraphicsState) -> Paint:
        place = self._line.then(state.matrix)
        if run.start:
            place = Matrix(e=run.start).then(place)
        low, top = state.rise, state.rise + CAP * state.size
        starts: Sequence[float] = ()
        if place.b == place.c == 0 and place.a > 0 and place.d * state.size > 0:
            left, scale = place.e, place.a * run.scale
            starts = [left + scale * at for at in run.at]
            box = made(Rectangle, (left, place.d * low + place.f, place.a * run.inked + left,
                                   place.d * top + place.f))
        else:
            corners = ((0.0, low), (run.inked, low), (run.inked, top), (0.0, top))
            box = box_round(place.at(*corner) for corner in corners)
        mode = state.style.render % 4
        outline = state.weight if mode == 1 else None
        thinnest = outline if state.slit == math.inf else state.slit_of(outline)
        size = abs(state.size) * self._least(place, state)
        return made(Paint, (
            PaintKind.TEXT, box, state.stroke if mode == 1 else state.fill,
            state.weight if mode in (1, 2) else None, size, None, False, False, (), run.chars, starts, state.style,
            ((), 0.0), False, False, False, None, thinnest, False,
            place.b == place.c == 0 and place.a < 0 and place.d * state.size < 0,
        ))

    @staticmethod
    def _least(place: Matrix, state: GraphicsState) -> float:
        """How large an em comes out, up or across, whichever is less: squeezed type is no larger than it is
        wide.
        """
        unit, stretch = 1.0 if state.face is None else state.face.unit, abs(state.stretch)
        if place.b == place.c == 0:
            if stretch == 1 and abs(place.a) >= abs(place.d):
                return abs(place.d) * unit
            return min(abs(place.d), abs(place.a) * stretch) * unit
        return Matrix(place.a * stretch, place.b * stretch, place.c, place.d).least * unit
