"""Whether a page's paints are its marks, one after another: so it is in a file that no other program wrote anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from operator import sub

from cagework.typeset.marks import Dash, Fill, Leaf, Line, Mark, Outline, Picture, Point, Ring, Text, flatten
from cagework.typeset.readback.illustrations import shows
from cagework.typeset.readback.lettering import LaidRun, Lettering
from cagework.typeset.readback.page_content import TextRun, run_of
from cagework.typeset.readback.painted import SAME_INK, SECOND, Looks, Plate
from cagework.typeset.readback.sides import CAPS
from cagework.typeset.reader.geometry import Rectangle, box_round, short_side
from cagework.typeset.reader.paint import Paint, PaintKind

_NEAR = 0.05
"""Points by which a place may be off: what rounding in the file comes to."""

_SAME_WEIGHT = 0.004
"""Points by which a line's weight, a dash or a size of type may be off."""


def in_step(
    marks: Iterable[Mark], paints: Sequence[Paint], runs: Iterable[TextRun], trim: Rectangle, lettering: Lettering,
    plate: Plate | None = None,
) -> bool:
    """Whether a page paints what its marks say, in their order, each in its place and look, and nothing else.

    `runs` are its letters as far as they were read already.
    """
    return _Steps(paints, {run.order: run for run in runs}, trim, lettering, plate).follow(flatten(marks))


class _Steps:
    """The paints of a page under way; `_at` is the next one."""

    def __init__(
        self, paints: Sequence[Paint], runs: dict[int, TextRun], trim: Rectangle, lettering: Lettering,
        plate: Plate | None,
    ) -> None:
        self._paints, self._runs = paints, runs
        self._trim, self._lettering = trim, lettering
        self._looks = Looks(plate)
        self._at = 0

    def follow(self, marks: Iterable[Leaf]) -> bool:
        """Go through marks and paints together; whether both end at once."""
        for mark in marks:
            if isinstance(mark, Text):
                if not self._text(mark):
                    return False
            elif isinstance(mark, Fill):
                if not self._fill(mark):
                    return False
            elif isinstance(mark, Picture):
                if not self._picture(mark):
                    return False
            elif isinstance(mark, Line):
                if not self._stroke(((mark.x1, mark.y1), (mark.x2, mark.y2)), mark, CAPS[mark.cap]):
                    return False
            elif not all(self._stroke((*ring, ring[0]), mark, 0) for ring in mark.rings):
                return False
        return self._at == len(self._paints)

    def _next(self, kind: PaintKind, ink: float) -> Paint | None:
        """The next paint, if it is of a kind, plain, and so dark."""
        if self._at >= len(self._paints):
            return None
        paint = self._paints[self._at]
        if paint.kind is not kind or paint.tiled:
            return None
        look = self._looks.of(paint)
        if look.oddity or abs(look.ink - ink) > SAME_INK:
            return None
        self._at += 1
        return paint

    def _text(self, mark: Text) -> bool:
        """The next runs, as many as a text takes."""
        laid = self._lettering.run(mark)
        if mark.angle:
            return self._turned(mark, "".join(laid.said))
        x, done, letters = mark.x, 0, len(laid.said)
        if letters == 1:
            return self._letter(mark, laid)
        while done < letters:
            order = self._at
            paint = self._next(PaintKind.TEXT, _wanted(mark))
            if paint is None or abs((paint.size or 0.0) - mark.size) > _SAME_WEIGHT:
                return False
            run = self._runs.get(order) or run_of(paint, self._trim, order)
            many = len(run.said)
            part = laid if many == letters else laid.part(done, done + many)
            if not (many and run.level and part.said == tuple(run.said) and -_NEAR <= run.base - mark.y <= _NEAR):
                return False
            if self._lettering.same_face(mark.face, run.said[0]) is False or not _whole_text(paint, mark.tracking):
                return False
            off = list(map(sub, run.starts, part.starts))
            off.append(run.ends[-1] - part.ends[-1] - mark.tracking)
            if max(off) - x > _ENDS or min(off) - x < -_ENDS:
                return False
            done += many
        return True

    def _letter(self, mark: Text, laid: LaidRun) -> bool:
        """The same for a lone letter: most are notes, sums and digits."""
        order = self._at
        paint = self._next(PaintKind.TEXT, _wanted(mark))
        if paint is None or abs((paint.size or 0.0) - mark.size) > _SAME_WEIGHT:
            return False
        run = self._runs.get(order) or run_of(paint, self._trim, order)
        if len(run.said) != 1 or run.said[0] != laid.said[0] or not run.level:
            return False
        x, start, end = mark.x, laid.starts[0], laid.ends[0] + mark.tracking
        return (-_NEAR <= run.base - mark.y <= _NEAR
                and self._lettering.same_face(mark.face, run.said[0]) is not False
                and _whole_text(paint, mark.tracking)
                and -_ENDS <= run.starts[0] - start - x <= _ENDS and -_ENDS <= run.ends[-1] - end - x <= _ENDS)

    def _turned(self, mark: Text, said: str) -> bool:
        paint = self._next(PaintKind.TEXT, _wanted(mark))
        if paint is None or paint.starts or abs((paint.size or 0.0) - mark.size) > _SAME_WEIGHT:
            return False
        trim, box = self._trim, paint.box
        there = box.left - trim.left, trim.top - box.top, box.right - trim.left, trim.top - box.low
        return ("".join(char for char in paint.chars if not char.isspace()) == said
                and max(map(abs, map(sub, there, self._lettering.box(mark)))) < 1.0
                and self._lettering.same_face(mark.face, paint.chars[0]) is not False)

    def _fill(self, mark: Fill) -> bool:
        paint = self._next(PaintKind.FILL, _wanted(mark))
        if paint is None or len(paint.rings) != len(mark.rings):
            return False
        if len(mark.rings) == 1 and paint.weight is not None:     # an upright rectangle, from whichever corner
            return self._boxed(mark.rings[0], paint) and _shows(paint, 0.0)
        for wanted, found in zip(mark.rings, paint.rings, strict=True):
            closed = len(found) == len(wanted) + 1
            if not (closed or len(found) == len(wanted)) or not self._along(wanted, found):
                return False
        return _shows(paint, 0.0)

    def _picture(self, mark: Picture) -> bool:
        paint = self._next(PaintKind.IMAGE, 0.0)
        return (paint is not None and self._along(mark.rings[0], paint.rings[0]) and _shows(paint, 0.0)
                and shows(mark.raster, paint))

    def _stroke(self, points: Sequence[Point], mark: Line | Outline, cap: int) -> bool:
        paint = self._next(PaintKind.STROKE, _wanted(mark))
        if paint is None or abs((paint.weight or 0.0) - mark.weight) > _SAME_WEIGHT:
            return False
        (ring,) = paint.rings
        style = paint.style
        return (len(ring) == len(points) and self._along(points, ring) and style.cap == cap and style.join == 0
                and same_dash(paint.dash, mark.dash, _SAME_WEIGHT) and _shows(paint, mark.weight / 2))

    def _boxed(self, wanted: Ring, paint: Paint) -> bool:
        """Whether an upright rectangle is painted, and the whole of it."""
        if len(wanted) != 4:
            return False
        (left, top), (right, second), (third, bottom), (last, fourth) = wanted
        if (second, third, last, fourth) != (top, right, left, bottom) or right <= left or bottom <= top:
            left, top, right, bottom = box_round(wanted)        # y down
        found = box_round(paint.rings[0]) if paint.cut else paint.box
        across, down = self._trim.left, self._trim.top
        return (short_side(wanted, Rectangle(left, top, right, bottom)) is not None
                and -_NEAR <= found[0] - across - left <= _NEAR and -_NEAR <= down - found[3] - top <= _NEAR
                and -_NEAR <= found[2] - across - right <= _NEAR and -_NEAR <= down - found[1] - bottom <= _NEAR)

    def _along(self, wanted: Sequence[Point], found: Sequence[Point]) -> bool:
        """Whether corners lie where they should, in their order."""
        left, top = self._trim.left, self._trim.top
        for (x, y), (there_x, there_y) in zip(wanted, found, strict=False):
            if not (-_NEAR <= there_x - left - x <= _NEAR and -_NEAR <= top - there_y - y <= _NEAR):
                return False
        return True


def _wanted(mark: Line | Outline | Fill | Text) -> float:
    return SECOND + mark.ink if mark.spot else mark.ink


_ENDS = 0.1
"""Points by which a letter may be off along its line: the file's widths and moves are rounded, too."""


def same_dash(found: tuple[tuple[float, ...], float], wanted: Dash | None, near: float) -> bool:
    """Whether a dash pattern is the wanted one."""
    lengths, phase = found
    if wanted is None:
        return not lengths
    if len(lengths) == 1:
        lengths = lengths * 2
    return (len(lengths) == 2 and abs(lengths[0] - wanted.on) <= near and abs(lengths[1] - wanted.off) <= near
            and _same_phase(phase, wanted, near))


def _same_phase(phase: float, wanted: Dash, near: float) -> bool:
    period = wanted.on + wanted.off
    off = (phase - wanted.phase) % period
    return min(off, period - off) <= near


def _shows(paint: Paint, grown: float) -> bool:
    """Whether the clip lets the whole of a shape show."""
    if not paint.cut:
        return True
    return paint.box.holds(box_round(point for ring in paint.rings for point in ring).grown(grown), _NEAR)


def _whole_text(paint: Paint, tracking: float) -> bool:
    """Whether the clip lets a run of letters show, from its first to its last and up to their height."""
    if not paint.cut:
        return True
    size = paint.size or 0.0
    after = max(tracking, 0.0) + _ENDS
    inked = [index for index, char in enumerate(paint.chars) if not char.isspace()]
    return (paint.box.left <= paint.starts[0] + _NEAR and paint.box.right >= paint.starts[inked[-1] + 1] - after
            and paint.box.height > 0.69 * size)
