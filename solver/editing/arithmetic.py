"""A contradiction that is plain arithmetic: what cages add to, and what the houses they lie in do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from cagework.solver.combine import sum_range
from cagework.solver.model import Between, Cage, Cell, Domain, Given, House, HouseKind, Pair, Puzzle, Sum

Member = Cage | Given | House | Pair | Sum | Domain | Between
"""A part of a puzzle."""


@dataclass(frozen=True, slots=True)
class Imbalance:
    """Cages that add to `stated` in houses that add to `due` together. Cells of the houses that are in none of the
    cages are `left`; those of the cages that are in none of the houses are `out`. However these are filled, `out`
    less `left` is not what it has to be: `stated` less `due`. `givens` are those that stand in them.
    """

    cages: tuple[Cage, ...]
    houses: tuple[House, ...]
    givens: tuple[Given, ...]
    stated: int
    due: int
    left: tuple[Cell, ...]
    out: tuple[Cell, ...]

    @property
    def members(self) -> tuple[Member, ...]:
        """The parts of the puzzle that are at odds."""
        return (*self.cages, *self.givens, *self.houses)


def imbalance(digits: range, members: Iterable[Member]) -> Imbalance | None:
    """The sums behind a contradiction of some parts of a puzzle that has these digits; None where it is of another
    kind: where houses or cages overlap, or digits decide.
    """
    parts = tuple(members)
    houses = tuple(one for one in parts if isinstance(one, House) and len(one.cells) == len(digits))
    cages = tuple(one for one in parts if isinstance(one, Cage) and one.total is not None)
    covered = [cell for house in houses for cell in house.cells]
    caged = [cell for cage in cages for cell in cage.cells]
    if not houses or not cages or len(set(covered)) < len(covered) or len(set(caged)) < len(caged):
        return None
    left, out = (tuple(sorted(one)) for one in (set(covered) - set(caged), set(caged) - set(covered)))
    edge = {*left, *out}
    givens = tuple(one for one in parts if isinstance(one, Given) and one.cell in edge)
    known = {given.cell: given.digit for given in givens}
    stated = sum(cage.total or 0 for cage in cages)
    due = len(houses) * sum(digits)
    least_left, most_left = _reach(digits, left, [house.cells for house in houses], known)
    least_out, most_out = _reach(digits, out, [cage.cells for cage in cages], known)
    if least_out - most_left <= stated - due <= most_out - least_left:
        return None
    return Imbalance(cages, houses, givens, stated, due, left, out)


def _reach(digits: range, cells: Sequence[Cell], groups: Iterable[Sequence[Cell]], known: Mapping[Cell, int],
           ) -> tuple[int, int]:
    """The least and the most that cells can add to: unlike digits within each of some groups, which part them."""
    least = most = sum(known.get(cell, 0) for cell in cells)
    for group in groups:
        low, high = sum_range(
            len(digits), sum(cell in group and cell not in known for cell in cells), digits[0])
        least, most = least + low, most + high
    return least, most


def whole_grid(puzzle: Puzzle) -> Imbalance | None:
    """The imbalance of all cages and the whole grid, where every cell is in a cage with a sum; None for none."""
    rows = [house for house in puzzle.houses if house.kind is HouseKind.ROW]
    found = imbalance(puzzle.digits, (*puzzle.cages, *rows)) if puzzle.shape is None else None
    return found if found and not found.left and len(rows) == puzzle.size else None


def plainest(puzzle: Puzzle) -> Imbalance | None:
    """The imbalance of the fewest cages in some rows or columns side by side, a region, or two; None for none."""
    if puzzle.shape is not None:
        return None
    summed = [cage for cage in puzzle.cages if cage.total is not None and len(cage.cells) <= puzzle.size]
    found = (imbalance(puzzle.digits, (*cages, *puzzle.givens, *houses))
             for houses in _areas(puzzle) for cages in _within(summed, houses))
    return min((one for one in found if one is not None), default=None,
               key=lambda one: (len(one.cages) + len(one.houses), len(one.left) + len(one.out)))


def _areas(puzzle: Puzzle) -> Iterator[Sequence[House]]:
    for kind in (HouseKind.ROW, HouseKind.COLUMN):
        lines = [house for house in puzzle.houses if house.kind is kind]
        for first, last in combinations(range(len(lines) + 1), 2):
            yield lines[first:last]
    for count in (1, 2):
        yield from combinations(puzzle.regions, count)


def _within(cages: Sequence[Cage], houses: Sequence[House]) -> Iterator[list[Cage]]:
    """The cages that lie within houses; and, where others stick out, these with them."""
    covered = {cell for house in houses for cell in house.cells}
    touching = [cage for cage in cages if not covered.isdisjoint(cage.cells)]
    inside = [cage for cage in touching if covered.issuperset(cage.cells)]
    yield inside
    if len(touching) > len(inside):
        yield touching
