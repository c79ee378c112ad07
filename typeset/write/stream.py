"""One page's marks to its content stream (ISO 32000-1, 7.8), as text that can be written anywhere.

Letters stand in it as themselves, and faces under their own names: which code a letter has in the file is for
`pdf` to say, which alone knows every page. A run of text is one array of strings and moves (9.4.3), the moves
reckoned from the widths the file states, so that every chunk starts where its mark says.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

from reportlab.lib.rl_accel import fp_str

from cagework.typeset.marks import (
    After,
    Anchor,
    Cap,
    Dash,
    Fill,
    Group,
    Line,
    Link,
    Mark,
    Outline,
    Page,
    Picture,
    Ring,
    Tag,
    Text,
    flatten,
)
from cagework.typeset.raster import Raster
from cagework.typeset.spot import SpotInk
from cagework.typeset.write.structure import TaggedElement

SPOT_NAME = "Second"
"""What a page calls the second ink."""

FACE_MARK = "/@"
"""Stands before a face's own name where the name it has in the file is to be."""

PICTURE_NAME = "FormXob."
"""Begins the names of pictures: reportlab's own word for what pages refer to."""

_CAPS = {Cap.BUTT: "0 J", Cap.ROUND: "1 J", Cap.SQUARE: "2 J"}
_ESCAPED = str.maketrans({"(": r"\(", ")": r"\)", "\\": r"\\"})
_SOFT_HYPHEN = "\u00ad"
_tenths = lru_cache(8192)(fp_str)
"""A move in thousandths of an em, to a tenth, as it is written: most come again."""


@dataclass(frozen=True, slots=True)
class Code:
    """A page as it is written: its size in pt, its content, what of it is read aloud, what leads where; and its
    pictures and second inks by the names it calls them.
    """

    width: float
    height: float
    text: str
    told: tuple[TaggedElement, ...]
    links: tuple[Link, ...]
    anchors: tuple[Anchor, ...]
    pictures: Mapping[str, Raster]
    spots: Mapping[str, SpotInk]


class _Known(dict[str, tuple[str, float]]):
    """The chunks of one face, each worked out when it is first asked for."""

    def __init__(self, width_of: Callable[[str], float]) -> None:
        self._width_of = width_of

    def __missing__(self, chunk: str) -> tuple[str, float]:
        found = self[chunk] = chunk.translate(_ESCAPED), sum(map(self._width_of, chunk))
        return found


class Advances:
    """How far a file's own widths move the pen for a chunk, and the chunk as a string; remembered by chunk."""

    def __init__(self, width_of: Callable[[str, str], float], has: Callable[[str, str], bool]) -> None:
        """Of a face and a character: its width in thousandths of an em, as the file has it; if it is there."""
        self._width_of, self.has = width_of, has
        self._known: dict[str, _Known] = {}

    def of(self, face: str) -> Mapping[str, tuple[str, float]]:
        """Of any chunk in a face: itself escaped (7.3.4.2), and its advance in thousandths of an em."""
        if face not in self._known:
            self._known[face] = _Known(partial(self._width_of, face))
        return self._known[face]


def page_code(page: Page, advances: Advances, *, tagged: bool, plates: bool = False) -> Code:
    """A page's content in its own space, y up from the trim's bottom left; `tagged` for readers who hear it.
    With `plates` a second ink is an ink, without it what it looks like.
    """
    pen = _Pen(page.height, advances, tagged, plates)
    pen.draw(page.marks)
    pen.close()
    return Code(page.width, page.height, "\n".join(pen.code), tuple(pen.told), page.links, page.anchors,
                pen.pictures, pen.spots)


class _Pen:
    """Draws one page's marks; `told` gathers what is read aloud, each piece under its number on the page."""

    def __init__(self, height: float, advances: Advances, tagging: bool, plates: bool) -> None:
        self.code = ["0 g 0 G 0 j 0 J"]
        self.told: list[TaggedElement] = []
        self.pictures: dict[str, Raster] = {}
        self._height, self._advances = height, advances
        self._tagging, self._plates = tagging, plates
        self._open = ""
        self._line: tuple[float, float, Dash | None, Cap, SpotInk | None] | None = None
        self._fill: tuple[float, SpotInk | None] = 1.0, None
        self.spots: dict[str, SpotInk] = {}
        self._font: tuple[str, float] | None = None
        self._tracking = 0.0

    def draw(self, marks: Iterable[Mark], inside: bool = False) -> None:
        """Draw marks in order; `inside` a tagged group, whose parts are not tagged again."""
        for mark in marks:
            if isinstance(mark, Group):
                if mark.tag is None or inside or not self._tagging:
                    self.draw(mark.marks, inside)
                    continue
                self._begin(f"/{mark.tag} <</MCID {len(self.told)}>> BDC")
                self.told.append(TaggedElement(mark.tag, mark.alt, self._extent(mark) if mark.alt else None,
                                               mark.name if mark.tag is Tag.LABEL else ""))
                self.draw(mark.marks, inside=True)
                self.close()
                continue
            if not inside and self._tagging and not self._open:
                self._begin("/Artifact BMC")
            if isinstance(mark, Text):
                self._write(mark)
            elif isinstance(mark, Fill):
                self._dip(mark.ink, mark.spot)
                self.code.append(f"{self._rectangle(mark.rings) or self._path(mark.rings)} f*")
            elif isinstance(mark, Picture):
                self._place(mark)
            else:
                self._stroke(mark)

    def _place(self, mark: Picture) -> None:
        """Lay a picture, which PDF draws in the unit square (8.9.5), on its rectangle."""
        name = PICTURE_NAME + mark.raster.digest
        self.pictures[name] = mark.raster
        low = self._height - mark.y - mark.height
        self.code.append(f"q {fp_str(mark.width, 0, 0, mark.height, mark.x, low)} cm /{name} Do Q")

    def close(self) -> None:
        """End the marked content that is open (14.6)."""
        if self._open:
            self.code.append("EMC")
            self._open = ""

    def _begin(self, code: str) -> None:
        self.close()
        self.code.append(code)
        self._open = code

    def _stroke(self, mark: Line | Outline) -> None:
        cap = mark.cap if isinstance(mark, Line) else Cap.BUTT
        if (mark.weight, mark.ink, mark.dash, cap, mark.spot) != self._line:
            self._set_line(mark.weight, mark.ink, mark.dash, cap, mark.spot)
        if isinstance(mark, Line):
            high = self._height
            self.code.append(f"{fp_str(mark.x1, high - mark.y1)} m {fp_str(mark.x2, high - mark.y2)} l S")
        else:
            self.code.append(f"{self._path(mark.rings)} S")

    def _set_line(self, weight: float, ink: float, dash: Dash | None, cap: Cap, spot: SpotInk | None) -> None:
        """Choose a line's weight, ink, dash and ends, as far as they are not chosen yet."""
        before = self._line
        if before is None or before[0] != weight:
            self.code.append(f"{fp_str(weight)} w")
        if before is None or before[1] != ink or before[4] != spot:
            self.code.append(self._colour(ink, spot, "G", "RG", "CS", "SCN"))
        if before is None or before[2] != dash:
            self.code.append(f"[{fp_str(dash.on, dash.off)}] {fp_str(dash.phase)} d" if dash else "[] 0 d")
        if before is None or before[3] != cap:
            self.code.append(_CAPS[cap])
        self._line = weight, ink, dash, cap, spot

    def _dip(self, ink: float, spot: SpotInk | None) -> None:
        if (ink, spot) != self._fill:
            self.code.append(self._colour(ink, spot, "g", "rg", "cs", "scn"))
            self._fill = ink, spot

    def _colour(self, ink: float, spot: SpotInk | None, grey: str, rgb: str, space: str, tint: str) -> str:
        """The operators that choose an ink (8.6.8), a second one by its plate or by what it looks like."""
        if spot is None:
            return f"{fp_str(1 - ink)} {grey}"
        if not self._plates:
            return f"{fp_str(*spot.rgb(ink))} {rgb}"
        self.spots[SPOT_NAME] = spot
        return f"/{SPOT_NAME} {space} {fp_str(ink)} {tint}"

    def _path(self, rings: Iterable[Ring]) -> str:
        high = self._height
        return " ".join(
            f"{' l '.join([fp_str(x, high - y) for x, y in ring]).replace(' l ', ' m ', 1)} l h" if len(ring) > 1
            else f"{fp_str(ring[0][0], high - ring[0][1])} m h"
            for ring in rings
        )

    def _rectangle(self, rings: tuple[Ring, ...]) -> str:
        """A lone upright rectangle as one operator; empty for any other shape."""
        if len(rings) != 1 or len(rings[0]) != 4:
            return ""
        (left, top), (right, second), (third, bottom), (last, fourth) = rings[0]
        if (second, third, last, fourth) != (top, right, left, bottom):
            return ""
        return f"{fp_str(left, self._height - bottom, right - left, bottom - top)} re"

    def _write(self, mark: Text) -> None:
        self._dip(mark.ink, mark.spot)
        begun = "BT"
        if (mark.face, mark.size) != self._font:
            self._font = mark.face, mark.size
            begun += f" {FACE_MARK}{mark.face} {fp_str(mark.size)} Tf"
        if mark.tracking != self._tracking:
            self._tracking = mark.tracking
            begun += f" {fp_str(mark.tracking)} Tc"
        place = f"{fp_str(mark.x, self._height - mark.y)} Td"
        if mark.angle:
            cos, sin = math.cos(math.radians(mark.angle)), math.sin(math.radians(mark.angle))
            place = f"{fp_str(cos, -sin, sin, cos)} {place[:-2]}Tm"
        self.code.append(f"{begun} {place} {self._array(mark)} ET")

    def _array(self, mark: Text) -> str:
        """A run's chunks, each moved to its start, as one array (9.4.3)."""
        told = self._open.endswith("BDC")
        chunks: Sequence[tuple[float, str]] = self._chunks(mark) if told else mark.chunks
        known = self._advances.of(mark.face)
        if len(chunks) == 1 and not chunks[0][0]:
            space = " " if told and mark.after is After.SPACE and not chunks[0][1].endswith("-") else ""
            return f"[({known[chunks[0][1]][0]}{space})]TJ"
        per = 1000 / mark.size
        tracking = mark.tracking * per
        parts: list[str] = []
        pen = 0.0                       # in thousandths of an em, as the file's widths and these moves have it
        joined = ""
        for start, chunk in chunks:
            move = round(pen - start * per, 1)
            if move:
                parts.append(f"({joined}){_tenths(move)}" if joined else _tenths(move))
                joined, pen = "", pen - move
            string, advance = known[chunk]
            joined += string
            pen += advance + tracking * len(chunk)
        if told and mark.after is After.SPACE and not chunks[-1][1].endswith("-"):
            joined += " "
        return f"[{''.join(parts)}({joined})]TJ"

    def _chunks(self, mark: Text) -> tuple[tuple[float, str], ...]:
        """A run as it is told: a hyphen that only divides a word at the line's end is a soft one (U+00AD), which
        looks alike and is not read.
        """
        if mark.after is not After.DIVISION or not self._advances.has(mark.face, _SOFT_HYPHEN):
            return mark.chunks
        *before, (offset, last) = mark.chunks
        return (*before, (offset, last[:-1] + _SOFT_HYPHEN))

    def _extent(self, group: Group) -> tuple[float, float, float, float] | None:
        """The rectangle round a group's outlines, fills and pictures, y up; None where it has none."""
        points = [point for mark in flatten(group.marks) if isinstance(mark, Outline | Fill | Picture)
                  for ring in mark.rings for point in ring]
        if not points:
            return None
        across, down = zip(*points, strict=True)
        return min(across), self._height - max(down), max(across), self._height - min(down)
