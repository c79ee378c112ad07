"""A page of a finished file as a reader sees it: letters, lines, fills, in pt from the trim's top left, y down."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import compress, pairwise
from operator import not_
from typing import NamedTuple

from cagework.typeset.marks import Point
from cagework.typeset.reader.colour import Colour
from cagework.typeset.reader.document import PdfPage
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.paint import Paint, PaintKind, made
from cagework.typeset.reader.text_object import CAP

LEGIBLE = 0.4
"""The least ink a letter is taken to be read by."""

HIGH = 0.66
"""How high figures stand over the baseline, in ems (lining figures of most text faces: 0.6 to 0.73)."""

MIDDLE = HIGH / 2
"""How high their middle is."""

UNKNOWN = "\ufffd"
"""A letter whose font does not say what it is."""

ASLANT = " (aslant)"
"""Follows letters that do not run from left to right: mirrored, turned or slanted ones are not what they were."""

TURNED = " (upside down)"
"""Follows letters that stand on their head."""

SLACK = 1.0
"""Points by which a page's trim may miss the book's."""

_THIN = 2.5
"""A filled rectangle thinner than this, in pt, is a line: some programs write lines so."""


class TextRun(NamedTuple):
    """Letters set in one go, blanks left out: what each says, and where it starts and ends. Where they do not run
    from left to right (`level` is false), they count as one. `base` is the baseline, `left` and `right` what the
    clip lets show, `order` their turn in the drawing.
    """

    said: Sequence[str]
    starts: Sequence[float]
    ends: Sequence[float]
    level: bool
    left: float
    right: float
    base: float
    size: float
    order: int


class Glyph(NamedTuple):
    """One letter in pt: its pen's start and end, its baseline and size."""

    said: str
    left: float
    right: float
    base: float
    size: float

    @property
    def middle(self) -> tuple[float, float]:
        """Half way across and half way up a figure."""
        return (self.left + self.right) / 2, self.base - MIDDLE * self.size


class DrawnLine(NamedTuple):
    """A straight line, its ends from left to right."""

    x1: float
    y1: float
    x2: float
    y2: float
    weight: float
    order: int

    @property
    def top(self) -> float:
        """The y of its upper end."""
        return min(self.y1, self.y2)

    @property
    def bottom(self) -> float:
        """The y of its lower end."""
        return max(self.y1, self.y2)


class Patch(NamedTuple):
    """A fill, `ink` from 0 (paper) to 1; upright rectangles, images and shadings are patches of their whole box,
    and have no `rings`.
    """

    left: float
    top: float
    right: float
    bottom: float
    rings: tuple[tuple[Point, ...], ...]
    ink: float
    order: int

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies within (by the even-odd rule)."""
        if not (self.left <= x <= self.right and self.top <= y <= self.bottom):
            return False
        if not self.rings:
            return True
        crossed = sum(
            (y1 > y) != (y2 > y) and x < x1 + (y - y1) * (x2 - x1) / (y2 - y1)
            for ring in self.rings for (x1, y1), (x2, y2) in pairwise((*ring, ring[0]))
        )
        return crossed % 2 == 1


@dataclass(frozen=True, slots=True)
class PageContent:
    """One page: its number from 1, and all on it in drawing order."""

    number: int
    runs: tuple[TextRun, ...]
    strokes: tuple[DrawnLine, ...]
    patches: tuple[Patch, ...]


def trim_of(sheet: PdfPage, width: float, height: float) -> Rectangle | None:
    """Where the book's page of `width` x `height` pt lies on a sheet, in the sheet's space; None where it cannot.

    Without a TrimBox, a sheet larger than the page is taken to hold it in its middle.
    """
    trim = sheet.trim
    if abs(trim.width - width) <= SLACK and abs(trim.height - height) <= SLACK:
        return trim
    across, down = (trim.width - width) / 2, (trim.height - height) / 2
    if "/TrimBox" in sheet.page or min(across, down) < -SLACK:
        return None
    return Rectangle(trim.left + across, trim.low + down, trim.right - across, trim.top - down)


def read_content(sheet: PdfPage, trim: Rectangle) -> PageContent:
    """A page with its corner at the trim's. What lies outside the trim is kept, too."""
    runs: list[TextRun] = []
    strokes: list[DrawnLine] = []
    patches: list[Patch] = []
    inks: dict[int, float] = {}         # by the colour's id, which is its own as long as the paints live
    paints = sheet.paints
    for order, paint in enumerate(paints):
        if paint.tiled or paint.masking:
            continue
        ink = inks.get(id(paint.colour), -1.0)
        if ink < 0:
            ink = inks[id(paint.colour)] = darkness(paint.colour)
        if paint.kind is PaintKind.TEXT:
            if ink >= LEGIBLE:
                runs.append(run_of(paint, trim, order))
        elif paint.kind is PaintKind.STROKE:
            if ink > 0:
                strokes.extend(_strokes(paint, trim, order))
            else:
                patches.extend(_rubbed(line) for line in _strokes(paint, trim, order))
        elif ink > 0 and len(paint.rings) == 1 and paint.weight is not None and paint.weight < _THIN:
            strokes.append(_thin(paint, trim, order))
        else:
            patches.append(_patch(paint, trim, ink, order))
    return PageContent(sheet.number, tuple(runs), tuple(strokes), tuple(patches))


def half_turned(leaf: PageContent, x: float, y: float) -> PageContent:
    """A page turned by half about (x, y): what stood on its head is level, and all else is not."""
    across, down = 2 * x, 2 * y
    return PageContent(
        leaf.number,
        tuple(_turned_run(run, across, down) for run in leaf.runs),
        tuple(DrawnLine(across - x2, down - y2, across - x1, down - y1, weight, order)
              for x1, y1, x2, y2, weight, order in leaf.strokes),
        tuple(_turned_patch(patch, across, down) for patch in leaf.patches))


def _turned_run(run: TextRun, across: float, down: float) -> TextRun:
    left, right = across - run.right, across - run.left
    word = "".join(run.said)
    upright = word.endswith(TURNED)
    base = run.base - CAP * run.size if upright else run.base       # it hangs from its baseline
    said = word.removesuffix(TURNED) if upright else word.removesuffix(ASLANT) + ASLANT
    return TextRun((said,), (left,), (right,), upright, left, right, down - base, run.size, run.order)


def _turned_patch(patch: Patch, across: float, down: float) -> Patch:
    rings = tuple(tuple((across - x, down - y) for x, y in ring) for ring in patch.rings)
    return Patch(across - patch.right, down - patch.bottom, across - patch.left, down - patch.top, rings,
                 patch.ink, patch.order)


def darkness(colour: Colour) -> float:
    """How dark a colour prints, 0 being paper; what cannot be told counts as solid."""
    if (total := colour.total) is not None:
        return total
    match colour.values:
        case (grey,):
            return 1 - grey
        case (red, green, blue):
            return 1 - (red + green + blue) / 3
        case (cyan, magenta, yellow, black):
            return cyan + magenta + yellow + black
    return 1.0


def run_of(paint: Paint, trim: Rectangle, order: int) -> TextRun:
    """The letters of a text."""
    left, right = paint.box.left - trim.left, paint.box.right - trim.left
    base, size = trim.top - paint.box.low, paint.size or 0.0
    if not paint.starts:
        word = "".join(char or UNKNOWN for char in paint.chars).strip() + (TURNED if paint.turned else ASLANT)
        return TextRun((word,), (left,), (right,), False, left, right, base, size, order)
    at = [start - trim.left for start in paint.starts] if trim.left else paint.starts
    said, starts, ends = paint.chars, at[:-1], at[1:]
    if len(said) == 1 and said[0] and not said[0].isspace():
        return made(TextRun, (said, starts, ends, True, left, right, base, size, order))
    if "" in said:
        said = tuple([char or UNKNOWN for char in said])
    blank = list(map(str.isspace, said))
    if True in blank:
        seen = list(map(not_, blank))
        said, starts, ends = tuple(compress(said, seen)), list(compress(starts, seen)), list(compress(ends, seen))
    return made(TextRun, (said, starts, ends, True, left, right, base, size, order))


def _strokes(paint: Paint, trim: Rectangle, order: int) -> Iterator[DrawnLine]:
    left, top, weight = trim.left, trim.top, paint.weight or 0.0
    for ring in paint.rings:
        for start, end in pairwise(ring):
            (x1, y1), (x2, y2) = (start, end) if start <= end else (end, start)
            yield made(DrawnLine, (x1 - left, top - y1, x2 - left, top - y2, weight, order))


def _rubbed(line: DrawnLine) -> Patch:
    """What a white line hides."""
    half = line.weight / 2
    return Patch(line.x1 - half, line.top - half, line.x2 + half, line.bottom + half, (), 0.0, line.order)


def _thin(paint: Paint, trim: Rectangle, order: int) -> DrawnLine:
    """A thin filled rectangle as the line along its middle."""
    box = paint.box
    left, right = box.left - trim.left, box.right - trim.left
    top, bottom = trim.top - box.top, trim.top - box.low
    if box.width > box.height:
        return DrawnLine(left, (top + bottom) / 2, right, (top + bottom) / 2, box.height, order)
    return DrawnLine((left + right) / 2, top, (left + right) / 2, bottom, box.width, order)


def _patch(paint: Paint, trim: Rectangle, ink: float, order: int) -> Patch:
    box = paint.box
    upright = len(paint.rings) == 1 and paint.weight is not None        # its box says it all
    rings = () if upright else tuple([tuple([(x - trim.left, trim.top - y) for x, y in ring])
                                      for ring in paint.rings])
    return Patch(box.left - trim.left, trim.top - box.top, box.right - trim.left, trim.top - box.low, rings, ink,
                 order)
