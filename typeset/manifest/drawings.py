"""SVG pictures: looked through for what a page in print cannot carry, and drawn by resvg at the printer's pixels.

What may stand in one is a part of SVG 1.1 (W3C, second edition): shapes, paths, groups, uses of these, clips,
masks, markers, patterns and gradients. Letters are to be outlines: a drawing's faces are not those of the book.
"""

from __future__ import annotations

import re
import xml.parsers.expat
from functools import lru_cache
from itertools import zip_longest
from pathlib import Path

from cagework.typeset.entry import Place
from cagework.typeset.faults import Fault, quoted
from cagework.typeset.raster import MOST_SAMPLES

PPI = 600
"""Pixels an inch at which a drawing is printed: twice what a picture needs, for its edges."""

MOST_BYTES = 2_000_000
"""Bytes that a drawing's file may have."""

DEEPEST = 100
"""Elements within one another that a drawing may have."""

_SVG = "http://www.w3.org/2000/svg"
_KNOWN = frozenset((
    "svg", "g", "defs", "title", "desc", "metadata", "path", "rect", "circle", "ellipse", "line", "polyline",
    "polygon", "use", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient", "radialGradient",
    "stop", "style"))
_HINTS = {
    "text": "turn letters into outlines", "image": "print it as a PNG or JPEG, by itself",
    "filter": "save the drawing as PNG, or do without the effect",
    "script": "a page in print does nothing", "foreignObject": "keep to shapes and paths",
}
_ELSEWHERE = re.compile(r"url\(\s*[\"']?\s*(?!#)[^\s\"')]|@import", re.I)
_EFFECT = re.compile(r"(?:^|[;{\s])filter\s*:", re.I)
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*(px|pt|pc|mm|cm|in)?\s*", re.I)
_LONGEST = 20
"""How many times as long as it is wide a drawing may be, or the other way round."""


class Scan:
    """One drawing looked through: its faults, each in its own place, and its shape."""

    def __init__(self, file: Path, text: str) -> None:
        self.faults: list[Fault] = []
        self.shape = 0.0
        self._file, self._lines = file, text.split("\n")
        self._depth = self._aside = self._style = 0
        parser = self._parser = xml.parsers.expat.ParserCreate(namespace_separator=" ")
        parser.StartElementHandler, parser.EndElementHandler = self._start, self._end
        parser.CharacterDataHandler = self._said
        parser.EntityDeclHandler = lambda *_: self._add("a drawing declares no entities", "leave the DOCTYPE out")
        parser.ProcessingInstructionHandler = lambda target, _: self._add(
            f"the instruction {quoted(target)} has no place in a drawing", "leave it out")
        try:
            parser.Parse(text, True)
        except xml.parsers.expat.ExpatError as error:
            said = xml.parsers.expat.ErrorString(error.code)
            self.faults.append(Fault(self._place(error.lineno, error.offset), f"this is no SVG: {said}"))

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        space, _, local = name.rpartition(" ")
        self._depth += 1
        if self._depth == DEEPEST:
            self._add(f"a drawing of {DEEPEST} levels is deeper than any needs to be", "take groups apart")
        if self._depth == 1:
            self._root(space, local, attributes)
        if self._aside or space != _SVG:
            self._aside += 1        # an editor's own notes, which are not drawn
            return
        if local not in _KNOWN:
            self._add(f"{quoted(local)} has no place in a drawing for print",
                      _HINTS.get(local, "keep to shapes and paths"))
            self._aside += 1
            return
        self._style += local == "style"
        for key, value in attributes.items():
            self._attribute(local, key.rpartition(" ")[2], value)

    def _end(self, name: str) -> None:
        self._depth -= 1
        if self._aside:
            self._aside -= 1
        elif name == f"{_SVG} style":
            self._style -= 1

    def _said(self, text: str) -> None:
        if self._style and _ELSEWHERE.search(text):
            self._add("a drawing cannot draw on another file", "put what it needs into the drawing itself")
        elif self._style and _EFFECT.search(text):
            self._add("an effect (filter) has no place in a drawing for print", _HINTS["filter"])

    def _attribute(self, element: str, key: str, value: str) -> None:
        if key == "href" and not value.startswith("#"):
            self._add(f"a drawing cannot draw on another file, as {quoted(value)}",
                      "put what it needs into the drawing itself")
        elif key.startswith("on"):
            self._add(f"{quoted(key)} runs a script: a page in print does nothing", "leave it out")
        elif key == "filter" or (key == "style" and _EFFECT.search(value)):
            self._add("an effect (filter) has no place in a drawing for print", _HINTS["filter"])
        elif _ELSEWHERE.search(value):
            self._add("a drawing cannot draw on another file", "put what it needs into the drawing itself")

    def _root(self, space: str, local: str, attributes: dict[str, str]) -> None:
        if (space, local) != (_SVG, "svg"):
            self._add("this is no SVG: it does not begin with an svg element of its namespace")
            return
        box = [float(one) for one in re.findall(_NUMBER, attributes.get("viewBox", ""), re.I)][2:4]
        stated = [_LENGTH.fullmatch(attributes.get(key, "")) for key in ("width", "height")]
        units = {(one[2] or "px").lower() for one in stated if one}
        sides = [float(one[1]) if one else side for one, side in zip_longest(stated, box)]
        if len(units) > 1 or None in sides:
            self._add("this drawing does not say how large it is", "give the svg element a viewBox")
            return
        across, down = sides
        if min(across, down) <= 0 or max(across / down, down / across) > _LONGEST:
            self._add(f"a drawing of {across:g} x {down:g} has no shape that can be printed")
        else:
            self.shape = down / across

    def _add(self, message: str, hint: str = "") -> None:
        at = self._place(self._parser.CurrentLineNumber, self._parser.CurrentColumnNumber)
        self.faults.append(Fault(at, message, hint))

    def _place(self, line: int, column: int) -> Place:
        source = self._lines[line - 1] if line <= len(self._lines) else ""
        return Place(self._file, line, column + 1, source)


def pixels_of(shape: float, width: float) -> tuple[int, int]:
    """How many pixels a drawing of a shape has that is to be `width` mm wide, or as many as one may have."""
    across = width / 25.4 * PPI
    across = min(across, (MOST_SAMPLES / shape) ** 0.5)
    return max(1, int(across)), max(1, int(across * shape))


@lru_cache(maxsize=16)      # a manifest that is read again, at each save, draws no picture again
def drawn(text: str, shape: float, width: float) -> bytes:
    """A drawing without faults as a PNG file on white, for printing `width` mm wide. ValueError where it cannot be
    drawn.
    """
    import resvg_py
    across, _ = pixels_of(shape, width)
    return bytes(resvg_py.svg_to_bytes(svg_string=text, background="white", width=across, skip_system_fonts=True))
