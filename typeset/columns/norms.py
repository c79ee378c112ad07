"""What a stock holds, as the sizes, line weights and looks of a slot. The one table is `preflight/stocks.yaml`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from cagework.layouts.column import ColumnSlot
from cagework.layouts.load import Problem
from cagework.solver.model import Puzzle
from cagework.typeset.choices import Stock
from cagework.typeset.draw.crossing import least_square
from cagework.typeset.draw.diagram import pointing
from cagework.typeset.draw.labels import CLEAR, label_size, sum_figures, sum_foot
from cagework.typeset.draw.look import GridLook
from cagework.typeset.draw.notes import least_cell
from cagework.typeset.faults import listed
from cagework.typeset.preflight.profile import Limits, stock_limits
from cagework.typeset.text.fonts import Fonts

_DIGIT = 0.46
_ROOMY = 36
"""Cells of so many times the paper's thinnest line have room for lines of regions that outweigh two dashes."""
_STEP = 0.02


@dataclass(frozen=True, slots=True)
class ColumnWeights:
    """Line weights in pt."""

    cell: float
    cage: float
    region: float
    frame: float


def stock_of(slot: ColumnSlot) -> Stock:
    """The paper a slot is printed on."""
    return Stock(slot.stock)


def limits_of(slot: ColumnSlot) -> Limits:
    """What the slot's paper holds."""
    return stock_limits()[stock_of(slot)]


def weights_of(slot: ColumnSlot, cell: float = inf) -> ColumnWeights:
    """The slot's lines about cells of `cell` pt; those it does not state, from the thinnest the paper holds
    (proportions are ours).
    """
    least, stated = limits_of(slot).line, slot.weights
    region, frame = (3.5, 4.0) if cell >= _ROOMY * least else (2.5, 3.0)
    return ColumnWeights(stated.cell or least, stated.cage or 1.5 * least, stated.region or region * least,
                         stated.frame or frame * least)


def shortcomings(slot: ColumnSlot) -> tuple[Problem, ...]:
    """Where a slot asks for less than its paper holds."""
    if slot.stock not in list(Stock):
        known = f"stocks are {listed(list(Stock), 'and')}"
        return (Problem(("stock",), f"there is no stock '{slot.stock}'", known),)
    limits, weights = limits_of(slot), weights_of(slot)
    found = [
        Problem(("weights", name),
                f"a line of {weight:g} pt is thinner than {slot.stock} holds: {limits.line:g} pt")
        for name in ("cell", "cage", "region", "frame") if (weight := getattr(weights, name)) < limits.line
    ]
    found += [
        Problem(("type", name),
                f"type of {size:g} pt is smaller than {slot.stock} holds: {limits.type:g} pt")
        for name in ("heading", "title", "text", "small") if (size := getattr(slot.type, name)) < limits.type
    ]
    if not weights.cell < weights.region < weights.frame:
        found.append(Problem(("weights",), "line weights must rise: cell, then region, then frame"))
    return tuple(found)


def grid_look(slot: ColumnSlot, cell: float, fonts: Fonts) -> GridLook:
    """A grid to be solved in, with cells of `cell` pt."""
    weights, limits = weights_of(slot, cell), limits_of(slot)
    look = GridLook(cell, weights.cell, weights.cage, weights.region, weights.frame, least_label=limits.type,
                least_gap=limits.gap, tinted_line=limits.tinted_line, least_note=limits.type,
                tints_regions=slot.regions == "tints", margin=True)
    return replace(look, digit_height=min(_DIGIT, _room(look, fonts) / cell))


def step_look(slot: ColumnSlot, cell: float, fonts: Fonts) -> GridLook:
    """A diagram with cells of `cell` pt."""
    return pointing(grid_look(slot, cell, fonts))


def _room(look: GridLook, fonts: Fonts) -> float:
    """The height left for a digit between the sum of its cell and the cage's line below, in pt."""
    inset = look.dashes.inset
    return look.cell - inset - look.cage_line / 2 - CLEAR - sum_foot(look, fonts)


def answer_look(slot: ColumnSlot, cell: float) -> GridLook:
    """A finished grid: lines alone, as fine as the paper holds."""
    least = limits_of(slot).line
    return GridLook(cell, least, least, 2 * least, 2 * least, least_label=None, digit_height=0.56)


class LeastCells:
    """The smallest cells in which the least type of a slot's paper can be read; what it finds it remembers."""

    def __init__(self, slot: ColumnSlot, fonts: Fonts) -> None:
        self._slot, self._fonts = slot, fonts
        self._known: dict[tuple[int, int], float] = {}
        self._noted: dict[tuple[int, int], float] = {}

    def of(self, puzzle: Puzzle) -> float:
        """The smallest cell of a puzzle in pt: a sum clear of its cage's line on either side, and a digit under
        it, clear of both; or one beside another over the diagonal of a black square.
        """
        if puzzle.shape is not None:
            least = limits_of(self._slot).type
            for _ in range(2):      # the frame of larger cells may be heavier
                least = max(least, least_square(grid_look(self._slot, least, self._fonts), self._fonts))
            return least
        figures = max((len(str(cage.total)) for cage in puzzle.cages if cage.total is not None), default=1)
        key = figures, len(str(puzzle.size))
        if key not in self._known:
            self._known[key] = self._search(*key)
        return self._known[key]

    def noted(self, puzzle: Puzzle) -> float:
        """The smallest cell of a diagram of a puzzle, in pt, that has room for notes."""
        key = puzzle.size, sum_figures(puzzle)
        if key not in self._noted:
            self._noted[key] = least_cell(self._fonts, lambda cell: step_look(self._slot, cell, self._fonts), *key)
        return self._noted[key]

    def _search(self, of_sum: int, of_digit: int) -> float:
        """All figures are equally wide in the faces used, so their number is all that matters."""
        limits, face = limits_of(self._slot), self._fonts["sans-semibold"]
        digit = face.figure_height * limits.type
        cell = 2 * digit
        while True:
            look = grid_look(self._slot, cell, self._fonts)
            inset = look.dashes.inset + look.cage_line / 2
            room = cell - 2 * inset
            fits_across = (face.width("8" * of_sum, label_size(look)) <= room
                           and face.width("8" * of_digit, limits.type) <= room)
            if fits_across and _room(look, self._fonts) >= digit:
                return cell
            cell += _STEP


def least_answer_cell(slot: ColumnSlot, size: int, fonts: Fonts) -> float:
    """The smallest cell of a finished grid in pt: the least type, clear of the lines."""
    face, least = fonts["sans"], limits_of(slot)
    wide = face.width(str(size), least.type) + 2 * CLEAR + least.line
    high = face.figure_height * least.type / 0.56
    return max(wide, high)
