"""The two sides of a page's ledger in the same terms: what its marks ask for, and what its file paints."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import NamedTuple

from cagework.typeset.marks import Cap, Dash, Fill, Group, Leaf, Line, Mark, Picture, Point, Text
from cagework.typeset.readback.illustrations import PlacedPicture
from cagework.typeset.readback.lettering import Lettering
from cagework.typeset.readback.misfit import Box, Misfit, measures, middle
from cagework.typeset.readback.page_content import UNKNOWN
from cagework.typeset.readback.painted import SECOND, Look, Looks, Plate
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.paint import Paint, PaintKind

CAPS = {Cap.BUTT: 0, Cap.ROUND: 1, Cap.SQUARE: 2}
"""Line ends as PDF numbers them (ISO 32000-1, table 54)."""

_CUT = 0.3
"""Points that a clip may take off a shape unseen."""

_EDGE = 1.0
"""Points at the edge of what can be seen in which nothing is missed."""

_HIGH = 0.69
"""The share of its size, at the least, that shows of a letter which is not clipped: the reader takes 0.7."""

Dashing = tuple[tuple[float, ...], float]
"""A dash's lengths and phase in pt; no lengths for a solid line."""


class Path(NamedTuple):
    """A stroked path, or one ring of it: closed where it ends where it began. `cut` says that a clip hides some.
    """

    points: tuple[Point, ...]
    weight: float
    look: Look
    cap: int
    dash: Dashing
    order: int
    group: str = ""
    cut: bool = False
    join: int = 0

    @property
    def box(self) -> Box:
        """The box round its corners."""
        return box_of(self.points)


class Area(NamedTuple):
    """A filled shape."""

    rings: tuple[tuple[Point, ...], ...]
    look: Look
    order: int
    group: str = ""
    cut: bool = False

    @property
    def box(self) -> Box:
        """The box round its corners."""
        return box_of([point for ring in self.rings for point in ring])


class PlacedGlyph(NamedTuple):
    """A letter that is no blank: its pen's start and end and its baseline. `text` is the laid-out one it is of, on
    the one side; `cut` says, on the other, that a clip hides it; `lone` that it is the last of its run.
    """

    said: str
    left: float
    right: float
    base: float
    size: float
    look: Look
    order: int
    group: str = ""
    text: Text | None = None
    cut: bool = False
    last: bool = False


class TurnedRun(NamedTuple):
    """Letters that do not run from left to right, together: their box, and a `letter` to know the face by."""

    said: str
    box: Box
    size: float
    look: Look
    order: int
    text: Text | None = None
    letter: str = ""


@dataclass(slots=True)
class Side:
    """All of one page, in pt from the trim's top left, y down; `other` is what no mark could ask for."""

    paths: list[Path] = field(default_factory=list)
    areas: list[Area] = field(default_factory=list)
    glyphs: list[PlacedGlyph] = field(default_factory=list)
    turned: list[TurnedRun] = field(default_factory=list)
    pictures: list[PlacedPicture] = field(default_factory=list)
    other: list[Misfit] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Fit:
    """How a page was moved and scaled by a hair on its way through another program: x -> across * x + right."""

    across: float = 1.0
    right: float = 0.0
    down: float = 1.0
    below: float = 0.0

    @property
    def scale(self) -> float:
        """How many times as large things are."""
        return (self.across + self.down) / 2


def box_of(points: Sequence[Point]) -> Box:
    """The box round some points."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def wanted_side(marks: Iterable[Mark], lettering: Lettering, frames: Sequence[Box] = ()) -> Side:
    """What marks ask for; where there are `frames`, what reaches out of them is cut."""
    side = Side()
    for order, (mark, group) in enumerate(_named(marks)):
        if isinstance(mark, Picture):
            side.pictures.append(PlacedPicture(mark.rings[0], order, mark.raster))
            continue
        look = Look(SECOND + mark.ink if mark.spot else mark.ink, "")
        if isinstance(mark, Text):
            if mark.angle:
                said = "".join(mark.string.split())
                side.turned.append(TurnedRun(said, lettering.box(mark), mark.size, look, order, mark))
                continue
            run = lettering.run(mark)
            side.glyphs += [PlacedGlyph(char, mark.x + start, mark.x + end, mark.y, mark.size, look, order, group,
                                        mark)
                            for char, start, end in zip(run.said, run.starts, run.ends, strict=True)]
        elif isinstance(mark, Fill):
            side.areas.append(Area(mark.rings, look, order, group))
        else:
            rings = ((((mark.x1, mark.y1), (mark.x2, mark.y2)),) if isinstance(mark, Line)
                     else tuple([(*ring, ring[0]) for ring in mark.rings]))
            cap = CAPS[mark.cap] if isinstance(mark, Line) else 0
            side.paths += [Path(ring, mark.weight, look, cap, _dashing(mark.dash), order, group) for ring in rings]
    if frames:
        side.areas = [area._replace(cut=not _framed(area.box, 0.0, frames)) for area in side.areas]
        side.paths = [path._replace(cut=not _framed(path.box, path.weight / 2, frames)) for path in side.paths]
    return side


def _framed(box: Box, grown: float, frames: Iterable[Box]) -> bool:
    left, top, right, bottom = box
    return any(left - grown >= one[0] - _CUT and top - grown >= one[1] - _CUT and right + grown <= one[2] + _CUT
               and bottom + grown <= one[3] + _CUT for one in frames)


def _named(marks: Iterable[Mark], group: str = "") -> Iterator[tuple[Leaf, str]]:
    for mark in marks:
        if isinstance(mark, Group):
            yield from _named(mark.marks, mark.name.replace("-", " "))
        else:
            yield mark, group


def _dashing(dash: Dash | None) -> Dashing:
    return ((dash.on, dash.off), dash.phase) if dash else ((), 0.0)


class _Finding:
    """The other side under way."""

    def __init__(self, trim: Rectangle, seen: Rectangle, fit: Fit) -> None:
        self.side = Side()
        self._trim, self._fit = trim, fit
        self._inner = seen.grown(-_EDGE)

    def take(self, paint: Paint, look: Look, order: int) -> None:
        """One paint."""
        if paint.kind is PaintKind.TEXT:
            self._text(paint, look, order)
        elif paint.kind is PaintKind.STROKE:
            self._stroke(paint, look, order)
        elif paint.kind is PaintKind.FILL:
            rings = tuple([tuple([self._at(*point) for point in ring]) for ring in paint.rings if len(ring) > 2])
            if rings:
                self.side.areas.append(Area(rings, look, order, cut=self._is_cut(paint, 0.0)))
        elif paint.kind is PaintKind.IMAGE:
            corners = [self._at(*corner) for corner in paint.rings[0]]
            self.side.pictures.append(PlacedPicture(corners, order, None, paint, look.oddity,
                                                    self._is_cut(paint, 0.0)))
        else:
            box = (*self._at(paint.box.left, paint.box.top), *self._at(paint.box.right, paint.box.low))
            self.side.other.append(Misfit(*middle(box), "pictures",
                                          f"a shading of {measures(box)}, stands where nothing should"))

    def _at(self, x: float, y: float) -> Point:
        trim, fit = self._trim, self._fit
        return (x - trim.left - fit.right) / fit.across, (trim.top - y - fit.below) / fit.down

    def _stroke(self, paint: Paint, look: Look, order: int) -> None:
        scale, weight, style = self._fit.scale, paint.weight or 0.0, paint.style
        points = tuple([point for point, _ in groupby([self._at(*point) for point in paint.rings[0]])])
        if len(points) == 1:
            if not style.cap:       # a point with butt ends leaves no ink
                return
            points = points * 2
        lengths, phase = paint.dash
        dash = tuple([length / scale for length in lengths]), phase / scale
        self.side.paths.append(Path(points, weight / scale, look, style.cap, dash, order, "",
                                    self._is_cut(paint, weight / 2), style.join))

    def _text(self, paint: Paint, look: Look, order: int) -> None:
        size, clip = (paint.size or 0.0) / self._fit.scale, paint.box
        if not paint.starts:
            letters = [char for char in paint.chars if not char.isspace()]
            box = (*self._at(clip.left, clip.top), *self._at(clip.right, clip.low))
            if letters:
                said = "".join(char or UNKNOWN for char in letters)
                self.side.turned.append(TurnedRun(said, box, size, look, order, None, letters[0]))
            return
        low = clip.height < _HIGH * (paint.size or 0.0)
        base = self._at(0.0, clip.low)[1]
        glyphs = [
            PlacedGlyph(char or UNKNOWN, self._at(start, 0.0)[0], self._at(end, 0.0)[0], base, size, look, order,
                  cut=low or not clip.left - 1 <= (start + end) / 2 <= clip.right + 1)
            for char, start, end in zip(paint.chars, paint.starts, paint.starts[1:], strict=False)
            if not char.isspace()
        ]
        if glyphs:
            glyphs[-1] = glyphs[-1]._replace(last=len(glyphs) == 1)
        self.side.glyphs += glyphs

    def _is_cut(self, paint: Paint, grown: float) -> bool:
        """Whether the clip hides some of a shape that could be seen."""
        left, low, right, high = box_of([point for ring in paint.rings for point in ring])
        whole = Rectangle(left - grown, low - grown, right + grown, high + grown).cut_to(self._inner)
        return whole is not None and not paint.box.holds(whole, _CUT)


def found_side(
    paints: Sequence[Paint], trim: Rectangle, seen: Rectangle, fit: Fit, plate: Plate | None = None,
) -> Side:
    """What a page paints, as far as `seen` shows it; all in the file's own space."""
    finding, looks = _Finding(trim, seen, fit), Looks(plate)
    for order, paint in enumerate(paints):
        in_cell = paint.tiled and paint.kind is not PaintKind.SHADING   # a pattern's cell has no place of its own
        if not in_cell and not paint.masking and seen.meets(paint.box.grown(0.01)):
            finding.take(paint, looks.of(paint), order)
    return finding.side
