"""The graphics state as a page's operators change it (ISO 32000-1, 8.4 and 9.3), and a string set in it."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.typeset.preflight.colour import BLACK, Colour
from cagework.typeset.preflight.face import Face
from cagework.typeset.preflight.geometry import Box, Matrix


@dataclass(slots=True)
class State:
    """The part of the graphics state that is asked about; `dataclasses.replace` makes a copy to keep."""

    matrix: Matrix
    clip: Box
    fill: Colour = BLACK
    stroke: Colour = BLACK
    width: float = 1.0
    face: Face | None = None
    size: float = 0.0
    spacing: float = 0.0
    word_spacing: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    render: int = 0

    @property
    def weight(self) -> float:
        """How thick a line comes out at the least, in the page's points."""
        return self.width * self.matrix.least

    def set_string(self, text: bytes) -> Run:
        """Where each character of a string starts. ValueError where no font was chosen."""
        if self.face is None:
            raise ValueError("text before any font is chosen")
        scale, spacing = self.size * self.stretch, self.spacing * self.stretch
        at = inked = 0.0
        starts = []
        codes = self.face.codes(text)
        for code in codes:
            starts.append(at)
            width = self.face.widths.get(code, self.face.otherwise) * scale
            if self.face.spaces(code):
                at += width + spacing + self.word_spacing * self.stretch
            else:
                inked = at + width
                at = inked + spacing
        starts.append(at)
        chars = self.face.chars
        return Run(inked, tuple(starts), tuple([chars.get(code, "") for code in codes]))


@dataclass(frozen=True, slots=True)
class Run:
    """A string as set, in text space: how far its ink reaches, where each character starts (and last where the
    pen ends), and what each says, empty where the font does not tell.
    """

    inked: float
    starts: tuple[float, ...]
    chars: tuple[str, ...]
