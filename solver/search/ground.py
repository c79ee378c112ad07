"""What houses and pairs alone say: tables for all puzzles on one ground, and the narrowing of all houses at once.

Rows, columns and boxes of a square lie on its int at even distances. So what holds of one is found for all by
shifting the grid over itself: this *folds* each group of cells onto its first cell, its head, and leaves there the
digits that the group has at all and those that it has more than once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cagework.solver.bitset import set_of
from cagework.solver.model import BOXES, Cell, House, HouseKind, Pair, grid_cells, numbered
from cagework.solver.search.fields import Fields, fields

Relations = dict[int, list[tuple[int, tuple[int, ...]]]]
"""By cell: the other cells of its pairs, each with what each digit of the cell forbids it."""

Houses = tuple[tuple[int, int], ...]
"""Cells as bits, each with the total they hold."""


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """Tables of a grid's houses and pairs; nothing of any puzzle's cages or givens.

    `number` counts the cells, from 0. `possible` is False where a house has more cells than there are digits.
    `seen` has for each cell the lowest bits of all that see it. `bands` and `families` are the houses that hold
    all digits, as bits by cell, with their total: rows and columns, regions and others, where the grid is a
    square; `apart` are those, as cells, that are no row, column or box of it; `rows`, `columns` and `boxes` are
    all digits at the heads of the others.
    """

    fields: Fields
    number: Mapping[Cell, int]
    possible: bool
    seen: tuple[int, ...]
    relations: Relations
    bands: tuple[Houses, Houses]
    families: tuple[Houses, Houses]
    apart: tuple[tuple[int, ...], ...]
    rows: int
    columns: int
    boxes: int

    @property
    def has_whole_houses(self) -> bool:
        """Whether any house holds all digits; where none does, sums can cross instead."""
        return any((*self.bands, *self.families))


def ground(
    size: int, houses: tuple[House, ...], pairs: tuple[Pair, ...], cells_of: tuple[Cell, ...] | None = None,
) -> Ground:
    """The tables of these houses and pairs on these cells, which are a square of side `size` if left out."""
    every = cells_of or grid_cells(size)
    is_square, number = cells_of is None or every == grid_cells(size), numbered(every)
    shape, turn = fields(size, len(every)), folds(size)
    width, lowest = shape.width, shape.lowest
    high, wide = _box(size)
    full = (1 << size) - 1
    seen = [0] * len(every)
    rows = columns = boxes = 0
    house_total = size * (size + 1) // 2
    whole: dict[HouseKind, list[tuple[int, int]]] = {kind: [] for kind in HouseKind}
    apart = []
    for house in houses:
        cells = [number[cell] for cell in house.cells]
        low = 0
        for cell in cells:
            low |= lowest[cell]
        for cell in cells:
            seen[cell] |= low
        if len(cells) == size and not is_square:
            apart.append(tuple(cells))
        elif len(cells) == size:
            head = min(cells)
            place = head * width
            if low == turn.row << place:
                rows |= full << place
                bits = turn.row_cells << head
            elif low == turn.column << place:
                columns |= full << place
                bits = turn.column_cells << head
            elif low == turn.box << place and head // size % high == head % wide == 0:
                boxes |= full << place
                bits = turn.box_cells << head
            else:
                apart.append(tuple(cells))
                bits = set_of(cells)
            whole[house.kind].append((bits, house_total))
    different = tuple([full & ~(1 << digit) for digit in range(size)])
    relations: Relations = {}
    for pair in pairs:
        first, second = number[pair.first], number[pair.second]
        if pair.allowed == different:
            seen[first] |= lowest[second]
            seen[second] |= lowest[first]
        else:
            onward, backward = _forbidden(pair.allowed)
            relations.setdefault(first, []).append((second, onward))
            relations.setdefault(second, []).append((first, backward))
    possible = all(len(house.cells) <= size for house in houses)
    for cell, low in enumerate(lowest):
        seen[cell] &= ~low
    in_rows, in_columns, regions, extra = (tuple(whole[kind]) for kind in HouseKind)
    return Ground(shape, number, possible, tuple(seen), relations, (in_rows, in_columns), (regions, extra),
                  tuple(apart), rows, columns, boxes)


def _box(size: int) -> tuple[int, int]:
    """Rows and columns of a usual box; of one row where there are none, which no house is taken for."""
    return BOXES.get(size, (1, size))


@lru_cache(maxsize=64)
def _forbidden(allowed: tuple[int, ...]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """What each digit of the first cell of a pair forbids the second, and the other way round."""
    size = len(allowed)
    full = (1 << size) - 1
    back = [sum([(mask >> y & 1) << x for x, mask in enumerate(allowed)]) for y in range(size)]
    return tuple([full & ~mask for mask in allowed]), tuple([full & ~mask for mask in back])


@dataclass(frozen=True, slots=True)
class Folds:
    """How a grid of one size is folded: distances of the cells of a box's row and column, and of the boxes; then
    factors that copy a head's digits to a whole row, column and box. The last are the first row, column and box as
    bits by cell.
    """

    across: tuple[int, ...]
    down: tuple[int, ...]
    boxes_across: tuple[int, ...]
    boxes_down: tuple[int, ...]
    row: int
    column: int
    box: int
    row_of_box: int
    column_of_box: int
    rows_apart: int
    columns_apart: int
    row_cells: int
    column_cells: int
    box_cells: int


@lru_cache(maxsize=16)
def folds(size: int) -> Folds:
    """The distances for a grid of this size."""
    width = size + 1
    high, wide = _box(size)
    line = size * width

    def copies(count: int, distance: int) -> int:
        return sum([1 << number * distance for number in range(count)])

    return Folds(
        tuple(range(width, wide * width, width)), tuple(range(line, high * line, line)),
        tuple(range(wide * width, line, wide * width)), tuple(range(high * line, size * line, high * line)),
        copies(size, width), copies(size, line), copies(wide, width) * copies(high, line),
        copies(wide, width), copies(high, line), copies(high, wide * width), copies(wide, high * line),
        copies(size, 1), copies(size, size), copies(wide, 1) * copies(high, size),
    )


def _folded(once: int, twice: int, distances: tuple[int, ...]) -> tuple[int, int]:
    """What stands once at least, and twice, in cells laid over those at some distances from them."""
    any_of, two_of = once, twice
    for distance in distances:
        other = once >> distance
        two_of |= twice >> distance | any_of & other
        any_of |= other
    return any_of, two_of


def singles(ground: Ground, grid: int) -> int:
    """Hidden singles of every row, column and box: the digit stays alone in its cell.

    Returns the grid; where a digit has no place in a house, or two digits only one, ~bits in the fields of the
    house, or of the cell.
    """
    if not ground.rows | ground.columns | ground.boxes:
        return grid
    turn = folds(ground.fields.size)
    across, down = _folded(grid, 0, turn.across), _folded(grid, 0, turn.down)
    row_once, row_twice = _folded(*across, turn.boxes_across)
    box_once, box_twice = _folded(*across, turn.down)
    column_once, column_twice = _folded(*down, turn.boxes_down)
    rows, columns, boxes = ground.rows, ground.columns, ground.boxes
    if rows & ~row_once or columns & ~column_once or boxes & ~box_once:
        return ~((rows & ~row_once) * turn.row | (columns & ~column_once) * turn.column
                 | (boxes & ~box_once) * turn.box)
    hidden = grid & (
        (rows & ~row_twice) * turn.row | (columns & ~column_twice) * turn.column | (boxes & ~box_twice) * turn.box
    )
    shape = ground.fields
    filled = hidden + shape.every
    if hidden & filled:
        return ~(hidden & filled)
    filled &= shape.guard
    cells = filled - (filled >> shape.size)
    return grid ^ grid & cells ^ hidden


def locked(ground: Ground, grid: int) -> int:
    """A digit that a box has only in one line leaves the rest of the line, and one that a line has only in one
    box leaves the rest of the box. Returns the grid.
    """
    if not ground.boxes:
        return grid
    turn = folds(ground.fields.size)
    once = grid
    for distance in turn.across:
        once |= grid >> distance
    gone = _locked(once, turn.down, turn.boxes_across, ground.boxes, ground.rows, turn.column_of_box,
                   turn.rows_apart) * turn.row_of_box
    once = grid
    for distance in turn.down:
        once |= grid >> distance
    gone |= _locked(once, turn.across, turn.boxes_down, ground.boxes, ground.columns, turn.row_of_box,
                    turn.columns_apart) * turn.column_of_box
    return grid & ~gone


def _locked(
    held: int, in_box: Sequence[int], in_line: Sequence[int], boxes: int, lines: int, box: int, line: int
) -> int:
    """What the parts where a box and a line meet lose; `held` are their digits, at the head of each."""
    box_once, box_twice = held, 0
    for distance in in_box:
        other = held >> distance
        box_twice |= box_once & other
        box_once |= other
    line_once, line_twice = held, 0
    for distance in in_line:
        other = held >> distance
        line_twice |= line_once & other
        line_once |= other
    parts = boxes * box & lines * line
    in_boxes = held & parts & (boxes & ~box_twice) * box
    in_lines = held & parts & (lines & ~line_twice) * line
    lines_lose, boxes_lose = in_boxes, in_lines
    for distance in in_line:
        lines_lose |= in_boxes >> distance
    for distance in in_box:
        boxes_lose |= in_lines >> distance
    return ((lines_lose & lines) * line & ~in_boxes | (boxes_lose & boxes) * box & ~in_lines) & parts
