"""Faces and their measures: widths with kerning, ink bounds, glyph outlines.

Figures are lining and tabular in the faces that come with the tool (OpenType default forms).
"""

from __future__ import annotations

import hashlib
import io
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Concatenate, ParamSpec, Protocol, TypeVar

import uharfbuzz as hb
from fontTools.pens.basePen import BasePen
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from cagework.layouts.load import FaceName
from cagework.typeset.marks import Text

_FEATURES = {"kern": True, "liga": False, "clig": False, "calt": False, "ccmp": False, "locl": False}
_PACKAGED: Mapping[FaceName, tuple[str, str]] = {
    "serif": ("font_source_serif_pro", "SourceSerifPro-Regular.ttf"),
    "serif-italic": ("font_source_serif_pro", "SourceSerifPro-It.ttf"),
    "serif-semibold": ("font_source_serif_pro", "SourceSerifPro-Semibold.ttf"),
    "sans": ("font_source_sans_pro", "SourceSansPro-Regular.ttf"),
    "sans-semibold": ("font_source_sans_pro", "SourceSansPro-Semibold.ttf"),
}

_NARROW: Mapping[str, float] = {"\u2009": 1 / 5, "\u202f": 1 / 5}
"""Thin and narrow no-break space, in ems (The Unicode Standard, table 6-2: a fifth of an em, or a sixth). Most
faces have neither: they are set as a blank of that width.
"""

_SHORT = 8
"""Letters up to which it is remembered which face sets a text."""

_IN_PLACE: Mapping[str, tuple[FaceName, ...]] = {
    "serif": ("sans", "serif-italic"), "serif-italic": ("serif", "sans"),
    "serif-semibold": ("sans-semibold", "serif", "sans"),
    "sans": ("serif",), "sans-semibold": ("serif-semibold", "sans", "serif"),
}
"""Face -> those that stand in for it, the nearest first, where it lacks a letter."""

Arguments = ParamSpec("Arguments")
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Bounds:
    """The box that ink fills, in pt from the start of the baseline, y up."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass(frozen=True, slots=True)
class FaceStyle:
    """How a face is asked for by name: its family, its weight (OpenType OS/2 usWeightClass), upright or not."""

    family: str
    weight: int
    italic: bool


class Faces(Protocol):
    """What names font files of its own, as a layout does."""

    @property
    def fonts(self) -> Mapping[FaceName, Path]:
        """Face -> TrueType file, in place of the packaged one."""


class _GlyphPen(Protocol):
    def draw(self, pen: object) -> None: ...


class _RelativePen(BasePen):  # type: ignore[misc]  # fontTools carries no types
    """Outlines as relative path commands, so that one text serves wherever a glyph stands."""

    def __init__(self, glyphs: object) -> None:
        super().__init__(glyphs)
        self.commands: list[str] = []
        self._from = self._start = (0.0, 0.0)

    def _add(self, letter: str, *points: tuple[float, float]) -> None:
        x, y = self._from
        self.commands.append(letter + " ".join(f"{_short(px - x)} {_short(py - y)}" for px, py in points))
        self._from = points[-1]

    def _moveTo(self, pt: tuple[float, float]) -> None:  # noqa: N802 - fontTools' names
        self._add("m", pt)
        self._start = pt

    def _lineTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._add("l", pt)

    def _curveToOne(self, *points: tuple[float, float]) -> None:  # noqa: N802
        self._add("c", *points)

    def _qCurveToOne(self, *points: tuple[float, float]) -> None:  # noqa: N802
        self._add("q", *points)

    def _closePath(self) -> None:  # noqa: N802
        self.commands.append("z")
        self._from = self._start


def _short(value: float) -> str:
    return f"{value:g}"


class Face:
    """One TrueType file. What it measures it remembers, for as long as the face lives. Any thread may ask."""

    __slots__ = ("_advances", "_cmap", "_glyphs", "_hb", "_outlines", "_reading", "_scaled", "_shaped",
                 "cap_height", "digest", "figure_height", "name", "path", "style", "units")

    def __init__(self, name: str, path: Path) -> None:
        self.name = name
        self.path = path
        data = path.read_bytes()
        self.digest = hashlib.sha256(data).hexdigest()
        font = TTFont(io.BytesIO(data), lazy=True)
        self.units: int = font["head"].unitsPerEm
        self._cmap: Mapping[int, str] = font.getBestCmap()
        self._glyphs: Mapping[str, _GlyphPen] = font.getGlyphSet()
        self._hb = hb.Font(hb.Face(hb.Blob(data)))
        self._shaped: dict[str, tuple[tuple[tuple[int, str], ...], int]] = {}
        self._scaled: dict[tuple[str, float], tuple[tuple[float, str], ...]] = {}
        self._reading = threading.Lock()     # fontTools unpacks a glyph in place when it is first drawn
        self._outlines: dict[str, tuple[str, tuple[float, float, float, float]]] = {}
        self._advances: dict[str, int] = {}
        names = font["name"]
        self.style = FaceStyle(str(names.getDebugName(16) or names.getDebugName(1)), font["OS/2"].usWeightClass,
                               bool(font["OS/2"].fsSelection & 1))
        self.cap_height = self._flat_height("H")
        self.figure_height = self._flat_height("1")

    def _flat_height(self, char: str) -> float:
        return self.glyph(char)[1][3] / self.units

    def lacks(self, text: str) -> str:
        """The characters of `text` that this face cannot set, each once, in order."""
        if self._cmap.keys() >= set(map(ord, text)):
            return ""
        return "".join(dict.fromkeys(
            char for char in text if ord(char) not in self._cmap and char not in _NARROW and char != "\u00a0"))

    def blanked(self, text: str) -> str:
        """The text with blanks that every face can set in place of narrow ones."""
        blank = "\u00a0" if ord("\u00a0") in self._cmap else " "
        for char in (*_NARROW, "\u00a0"):
            if char in text:
                text = text.replace(char, blank)
        return text

    def glyph(self, char: str) -> tuple[str, tuple[float, float, float, float]]:
        """A character's outline as SVG path data and its ink box (left, bottom, right, top): font units, y up.

        Every command of the outline is relative, the first to the start of the baseline.

        KeyError where the face lacks the character.
        """
        if char not in self._outlines:
            path, box = _RelativePen(self._glyphs), BoundsPen(self._glyphs)
            with self._reading:
                glyph = self._glyphs[self._cmap[ord(char)]]
                glyph.draw(path)
                glyph.draw(box)
            self._outlines[char] = ("".join(path.commands), box.bounds or (0.0, 0.0, 0.0, 0.0))
        return self._outlines[char]

    def advance(self, char: str) -> int:
        """A character's own width in font units, before kerning."""
        if char not in self._advances:
            self._advances[char] = int(self._hb.get_glyph_h_advance(self._hb.get_nominal_glyph(ord(char)) or 0))
        return self._advances[char]

    def _shape(self, text: str) -> tuple[tuple[tuple[int, str], ...], int]:
        """Chunks of `text` with their offsets, a new one after each kerned pair or narrow space, and its width."""
        found = self._shaped.get(text)
        if found is not None:
            return found
        set_so = self.blanked(text)
        buffer = hb.Buffer()
        buffer.add_str(set_so)
        buffer.guess_segment_properties()
        hb.shape(self._hb, buffer, _FEATURES)
        glyphs = zip(buffer.glyph_infos or (), buffer.glyph_positions or (), strict=True)   # None for none
        chunks: list[tuple[int, str]] = []
        start, at, first = 0, 0, 0
        for index, (info, position) in enumerate(glyphs):
            narrow = _NARROW.get(text[index])
            advance = position.x_advance if narrow is None else round(narrow * self.units)
            at += advance
            if advance != self._hb.get_glyph_h_advance(info.codepoint):
                chunks.append((start, set_so[first:index + 1]))
                start, first = at, index + 1
        if first < len(text):
            chunks.append((start, set_so[first:]))
        self._shaped[text] = found = (tuple(chunks), at)
        return found

    def forget(self) -> None:
        """Measure texts again when they are asked for; the letters' outlines stay."""
        self._shaped.clear()
        self._scaled.clear()

    def width(self, text: str, size: float) -> float:
        """The advance width of `text`, kerned, in pt."""
        return self._shape(text)[1] * size / self.units

    def chunks(self, text: str, size: float) -> tuple[tuple[float, str], ...]:
        """`text` as the chunks of a Text mark, kerned."""
        found = self._scaled.get((text, size))
        if found is None:
            scale = size / self.units
            found = tuple([(offset * scale, chunk) for offset, chunk in self._shape(text)[0]])
            self._scaled[text, size] = found
        return found

    def bounds(self, text: str, size: float) -> Bounds:
        """The ink box of `text`; all zero where it has none."""
        scale = size / self.units
        boxes = [
            (offset * scale + before * scale, box)
            for offset, chunk in self._shape(text)[0]
            for before, box in self._placed(chunk)
            if box[2] > box[0]
        ]
        if not boxes:
            return Bounds(0.0, 0.0, 0.0, 0.0)
        return Bounds(
            min(at + box[0] * scale for at, box in boxes), min(box[1] * scale for _, box in boxes),
            max(at + box[2] * scale for at, box in boxes), max(box[3] * scale for _, box in boxes),
        )

    def _placed(self, chunk: str) -> list[tuple[int, tuple[float, float, float, float]]]:
        at, placed = 0, []
        for char in chunk:
            placed.append((at, self.glyph(char)[1]))
            at += self.advance(char)
        return placed


class Fonts:
    """The faces of one design, loaded when first asked for, and the ways to set a line in them, for any thread."""

    def __init__(self, layout: Faces) -> None:
        self._paths = packaged_faces()
        self._paths.update(layout.fonts.items())
        self._faces: dict[str, Face] = {}
        self._made: dict[tuple[object, ...], Any] = {}
        self._faces_for: dict[tuple[str, str], str] = {}

    def __getitem__(self, name: str) -> Face:
        if name not in self._faces:
            self._faces[name] = Face(name, self._paths[name])
        return self._faces[name]

    def once(
        self, make: Callable[Concatenate[Fonts, Arguments], Value], *given: Arguments.args,
        **named: Arguments.kwargs,
    ) -> Value:
        """What `make` makes of these faces and hashable arguments: made once, and kept until `forget`."""
        key = (make, given, *named.items())
        made: Value | None = self._made.get(key)
        if made is None:
            made = self._made[key] = make(self, *given, **named)
        return made

    def forget(self) -> None:
        """Make and measure again what is asked for: words that no page has any more are held no longer."""
        self._made.clear()
        self._faces_for.clear()
        for face in tuple(self._faces.values()):
            face.forget()

    def face_for(self, face: str, text: str) -> str:
        """The face that sets a text: the one asked for, or the nearest that has all its letters; where none has,
        the one asked for.
        """
        if len(text) > _SHORT:
            return self._nearest(face, text)
        found = self._faces_for.get((face, text))
        if found is None:
            found = self._faces_for[face, text] = self._nearest(face, text)
        return found

    def _nearest(self, face: str, text: str) -> str:
        return next((one for one in (face, *_IN_PLACE[face]) if not self[one].lacks(text)), face)

    def lacking(self, face: str, text: str) -> str:
        """The letters of a text that neither a face nor any that stands in for it has, each once, in order."""
        return "".join(char for char in self[face].lacks(text)
                       if all(self[other].lacks(char) for other in _IN_PLACE[face]))

    def left(self, x: float, y: float, text: str, face: str, size: float, ink: float = 1.0,
             tracking: float = 0.0) -> Text:
        """A line of text that starts at x on baseline y."""
        face = self.face_for(face, text)
        chunks = ((0.0, self[face].blanked(text)),) if tracking else self[face].chunks(text, size)
        return Text(x, y, chunks, face, size, ink, tracking)

    def right(self, x: float, y: float, text: str, face: str, size: float, ink: float = 1.0,
              tracking: float = 0.0) -> Text:
        """A line of text that ends at x."""
        return self.left(x - self.measure(text, face, size, tracking), y, text, face, size, ink, tracking)

    def centre(self, x: float, y: float, text: str, face: str, size: float, ink: float = 1.0,
               tracking: float = 0.0) -> Text:
        """A line of text with its middle at x."""
        start = x - self.measure(text, face, size, tracking) / 2
        return self.left(start, y, text, face, size, ink, tracking)

    def measure(self, text: str, face: str, size: float, tracking: float = 0.0) -> float:
        """The width of a line in pt; tracking counts between characters only."""
        face = self.face_for(face, text)
        if not tracking:
            return self[face].width(text, size)
        units = sum(self[face].advance(char) for char in self[face].blanked(text))
        return units * size / self[face].units + tracking * (len(text) - 1)


def packaged_faces() -> dict[str, Path]:
    """The files of the faces that come with the tool (SIL Open Font Licence)."""
    return {name: Path(str(files(package) / "files" / file)) for name, (package, file) in _PACKAGED.items()}
