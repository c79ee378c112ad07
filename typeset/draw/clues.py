"""Numbers outside a grid's frame, each with an arrow along its diagonal, and the room that is kept for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from cagework.solver.figure import Clue, Point
from cagework.solver.model import Puzzle
from cagework.solver.rule import Rule
from cagework.typeset.draw.rule_figures import Place
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.marks import Fill, Line, Mark
from cagework.typeset.text.fonts import Fonts

_TYPE = 0.32
"""The type of a number, in cells."""

_FACE = "sans-semibold"

_NEAR, _ALONG, _AT_CORNER = 0.35, 0.25, 0.45
"""How far from the frame a number begins, and how far along it its middle is from the corner where its arrow
points, or from that of the grid, in cells.
"""

_FIGURE = 0.22
"""The room of one figure and some white, in cells."""

_TIP, _BARB, _TAIL, _HALF = 0.06, 0.16, 0.29, 0.055
"""Where an arrow's point, its head's end and its tail are, in cells away from its corner, and half its head."""


def clues(rules: Iterable[Rule]) -> tuple[Clue, ...]:
    """The numbers that rules set outside the frame."""
    return tuple(figure for rule in rules for figure in rule.figures() if isinstance(figure, Clue))


def margin(rules: Iterable[Rule]) -> float:
    """The room kept for numbers on each side of a frame, in cells; 0 where there are none."""
    figures = max((len(str(clue.number)) for clue in clues(rules)), default=0)
    return _NEAR + _FIGURE * figures if figures else 0.0


def outer_cells(puzzle: Puzzle, rules: Iterable[Rule]) -> tuple[float, float]:
    """How many cells wide and high a grid to be solved in is, with all that stands outside its frame."""
    squares, room = squares_of(puzzle), 2 * margin(rules)
    return squares.across + room, squares.down + room


@dataclass(frozen=True, slots=True)
class _Corner:
    """Where a diagonal crosses the frame, in cells, and the step along it, inwards."""

    over: int
    low: int
    right: int
    down: int

    def at(self, out: float, side: float = 0.0) -> Point:
        """A point so far outwards on each axis, and so far beside that, in cells."""
        return self.over - self.right * out + self.down * side, self.low - self.down * out - self.right * side


def _corner(clue: Clue) -> _Corner:
    first, second = clue.cells[:2]
    right, down = second.col - first.col, second.row - first.row
    return _Corner(first.col - (right > 0), first.row - (down > 0), right, down)


def drawn_clues(
    shown: Iterable[Clue], size: int, place: Place, least: float, fonts: Fonts,
) -> Iterator[Mark]:
    """Numbers, of `least` pt at the least, and arrows round a grid at its place."""
    type_size = max(least, _TYPE * place.cell)
    high = fonts[_FACE].figure_height * type_size
    for clue in shown:
        corner = _corner(clue)
        yield Line(*place.at(corner.at(_TAIL)), *place.at(corner.at(_BARB)), place.sign)
        head = corner.at(_TIP), corner.at(_BARB, _HALF), corner.at(_BARB, -_HALF)
        yield Fill((tuple(map(place.at, head)),), 1.0)
        text = str(clue.number)
        wide = fonts.measure(text, _FACE, type_size)
        if corner.over in (0, size):
            along = _AT_CORNER if corner.low in (0, size) else _ALONG
            edge, middle = place.at((corner.over - corner.right * _NEAR, corner.low - corner.down * along))
            left, base = edge - (wide if corner.right > 0 else 0.0), middle + high / 2
        else:
            middle, edge = place.at((corner.over - corner.right * _ALONG, corner.low - corner.down * _NEAR))
            left, base = middle - wide / 2, edge + (0.0 if corner.down > 0 else high)
        yield fonts.left(left, base, text, _FACE, type_size)
