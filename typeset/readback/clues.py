"""The numbers outside a grid's frame: each stands by the corner of its diagonal, and its arrow points along it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import dist

from cagework.solver.figure import Clue
from cagework.typeset.marks import Point
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import Expected
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.page_content import MIDDLE, PageContent

_OUT, _NEAR = 0.4, 0.35
"""How far outwards on each axis a number's middle is looked for, and how far it may be from there, in cells: two
that point at the same cell's neighbours are half a cell apart.
"""

_ROUND = 0.9
"""As far from the frame nothing else stands, in cells."""

_ARROW = 0.04, 0.45
"""Between these an arrow's line lies, in cells outwards on each axis."""

_ASTRAY = 0.04
"""How far from its diagonal an arrow's end may lie, in cells."""

_APART = 0.3
"""Letters further apart are no number, in ems."""


def compare_clues(place: GridPlace, leaf: PageContent, wanted: Expected) -> Iterator[Difference]:
    """What round a grid's frame is not as it should be; room is kept there only where numbers are due."""
    if not wanted.clues:
        return
    spots = [_spot(place, clue, _OUT) for clue in wanted.clues]
    found: list[list[str]] = [[] for _ in spots]
    stray: list[str] = []
    for text, at in _numbers(place, leaf):
        nearest = min(range(len(spots)), key=lambda one: dist(spots[one], at))
        (found[nearest] if dist(spots[nearest], at) <= _NEAR * place.cell else stray).append(text)
    for clue, there in zip(wanted.clues, found, strict=True):
        if there != [str(clue.number)]:
            amiss = f"'{' '.join(there)}' stands" if there else "nothing stands"
            yield Difference(place.page, place.name, clue.cells[0],
                             f"{amiss} outside the grid where the number {clue.number} should")
        if not _has_arrow(place, leaf, clue):
            yield Difference(place.page, place.name, clue.cells[0], "no arrow points along its diagonal")
    for text in stray:
        yield Difference(place.page, place.name, None, f"'{text}' stands outside the grid where no number should")


def _spot(place: GridPlace, clue: Clue, out: float) -> Point:
    """A point outwards from where a diagonal crosses the frame."""
    first, second = clue.cells[:2]
    across, under = second.col - first.col, second.row - first.row
    x, y = first.col - 0.5 - across * (0.5 + out), first.row - 0.5 - under * (0.5 + out)
    return place.x + x * place.cell, place.y + y * place.cell


def _numbers(place: GridPlace, leaf: PageContent) -> Iterator[tuple[str, Point]]:
    """What is set round the frame and can be seen, letters that stand together as one, with their middles."""
    reach = _ROUND * place.cell
    for run in leaf.runs:
        y = run.base - MIDDLE * run.size
        letters: list[tuple[str, float, float]] = []
        for said, start, end in zip(run.said, run.starts, run.ends, strict=True):
            x = (start + end) / 2
            near = (place.x - reach <= x <= place.x + place.width + reach
                    and place.y - reach <= y <= place.y + place.height + reach)
            hidden = not run.left <= x <= run.right or any(
                patch.order > run.order and patch.holds(x, y) for patch in leaf.patches)
            if not near or place.holds(x, y) or hidden:
                continue
            if letters and start - letters[-1][2] > _APART * run.size:
                yield _joined(letters, y)
                letters = []
            letters.append((said, start, end))
        if letters:
            yield _joined(letters, y)


def _joined(letters: Sequence[tuple[str, float, float]], y: float) -> tuple[str, Point]:
    return "".join(said for said, _, _ in letters), ((letters[0][1] + letters[-1][2]) / 2, y)


def _has_arrow(place: GridPlace, leaf: PageContent, clue: Clue) -> bool:
    """Whether a line runs outside along a diagonal, and a head is between it and the frame."""
    corner, away = _spot(place, clue, 0.0), _spot(place, clue, 1.0)
    right, down = away[0] - corner[0], away[1] - corner[1]

    def lies(x: float, y: float) -> bool:
        over, under = (x - corner[0]) / right, (y - corner[1]) / down
        return abs(over - under) <= _ASTRAY and _ARROW[0] <= over <= _ARROW[1]

    tip = _spot(place, clue, 0.1)
    return (any(lies(line.x1, line.y1) and lies(line.x2, line.y2) for line in leaf.strokes)
            and any(patch.ink > 0.5 and patch.holds(*tip) for patch in leaf.patches))
