"""Houses, or runs -> those worth adding up: the same for every puzzle of these houses, or of this shape."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from itertools import accumulate, combinations, islice
from operator import or_

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cell, House, HouseKind, numbered
from cagework.solver.search.crossed import taken_in

_LONGEST_RUN = 4
"""Rows or columns added up at once: beyond half a 9 x 9 grid the rest of it says the same with less."""

_MOST_REGIONS = 3
"""Regions added up at once, besides squares of four."""

_MOST_RUNS = 16
"""Runs of an area, across and down together: more spare a reader no suppositions (measured)."""


@dataclass(frozen=True, slots=True)
class Union:
    """Houses or runs worth adding up, by number, and their cells; `splits` are pairs of unions before it that make
    up this one.
    """

    parts: tuple[int, ...]
    cells: int
    splits: tuple[tuple[int, int], ...]


@lru_cache(maxsize=8)
def house_unions(size: int, houses: tuple[House, ...], cells_of: tuple[Cell, ...]) -> tuple[Union, ...]:
    """All unions, smaller ones first: they are the same for every puzzle with these houses."""
    index = numbered(cells_of)
    sets = [set_of(index[cell] for cell in house.cells) for house in houses]
    numbers: dict[frozenset[int], int] = {}
    unions: list[Union] = []
    for chosen in _choices(size, houses, sets, index):
        key, cells = frozenset(chosen), reduce(or_, [sets[number] for number in chosen])
        if key in numbers or cells.bit_count() < len(chosen) * size:
            continue    # known, or two of them overlap, if not those that touch
        numbers[key] = len(unions)
        splits = tuple([
            (numbers[part], numbers[key - part])
            for count in range(1, len(chosen) // 2 + 1)
            for part in map(frozenset, combinations(chosen, count))
            if part in numbers and key - part in numbers
        ])
        unions.append(Union(chosen, cells, splits))
    return tuple(unions)


def _choices(
    size: int, houses: Sequence[House], sets: Sequence[int], index: Mapping[Cell, int]
) -> Iterator[tuple[int, ...]]:
    """Numbers of houses of which those that touch have no common cell, fewer ones first."""
    usable = [number for number, house in enumerate(houses) if len(house.cells) == size]
    for number in usable:
        yield (number,)
    kinds = [(kind, [n for n in usable if houses[n].kind is kind]) for kind in HouseKind]
    lines = [numbers for kind, numbers in kinds if kind in (HouseKind.ROW, HouseKind.COLUMN)]
    for length in range(2, min(_LONGEST_RUN, size // 2) + 1):
        for numbers in lines:
            for start in range(len(numbers) - length + 1):
                yield tuple(numbers[start:start + length])
    regions = next(numbers for kind, numbers in kinds if kind is HouseKind.REGION)
    edges = {n: _beside(houses[n], index) for n in regions}
    touching = {n: {m for m in regions if edges[n] & sets[m] and not sets[n] & sets[m]} for n in regions}
    grown: set[tuple[int, ...]] = {(n,) for n in regions}
    for _ in range(2, _MOST_REGIONS + 1):
        grown = {
            tuple(sorted((*part, near)))
            for part in grown for n in part for near in touching[n] if near not in part
        }
        yield from sorted(grown)
    for four in combinations(regions, 4):
        if all(len(touching[n].intersection(four)) == 2 for n in four):
            yield four


def _beside(house: House, index: Mapping[Cell, int]) -> int:
    """The cells that share an edge with a cell of a house, as bits."""
    return set_of(index[near] for cell in house.cells for near in cell.neighbours() if near in index)


def hang_together(houses: Sequence[int], linked: Sequence[int]) -> bool:
    """Whether cages tie all these houses together; if not, adding them up says nothing new.

    `linked` are, for each house, those that a cage with a total ties to it, as bits.
    """
    wanted = set_of(houses)
    reached, front = 0, 1 << houses[0]
    while front:
        reached |= front
        met = 0
        for house in members(front):
            met |= linked[house]
        front = met & wanted & ~reached
    return reached == wanted


Run = tuple[int, int]
"""A run's number, and its cells as bits."""


@lru_cache(maxsize=8)
def run_unions(across: tuple[Run, ...], down: tuple[Run, ...]) -> tuple[Union, ...]:
    """Unions of runs of one way that those of the other nearly cover, smaller ones first.

    Each run begins an area, which then grows. Of two unions of which each covers the other the one that leaves
    more cells than it lacks says what both do.
    """
    runs = _Runs(tuple([cells for _, cells in (*across, *down)]), len(across))
    grown = {chosen for start in range(len(runs.cells)) for inside in runs.grown(start)
             for chosen in (inside & runs.across, inside & ~runs.across) if chosen.bit_count() > 1}
    numbers: dict[int, int] = {}
    for chosen in sorted(grown, key=lambda one: (one.bit_count(), one)):
        other = runs.covering(chosen)
        if other not in grown or runs.covering(other) != chosen or runs.leaves(chosen, other):
            numbers[chosen] = len(numbers)
    named = [number for number, _ in (*across, *down)]
    return tuple([
        Union(tuple([named[run] for run in members(chosen)]), runs.union(chosen), tuple([
            (number, numbers[chosen ^ part]) for part, number in numbers.items()
            if not part & ~chosen and part < chosen ^ part and chosen ^ part in numbers]))
        for chosen in numbers])


class _Runs:
    """The runs of a shape, those across first; several of them are an int with bit n for run n."""

    def __init__(self, cells: tuple[int, ...], across: int) -> None:
        self.cells, self.across = cells, (1 << across) - 1
        self.lengths = [one.bit_count() for one in cells]
        self.crossing = [[other for other, theirs in enumerate(cells)
                          if cells[run] & theirs and (other < across) is not (run < across)]
                         for run in range(len(cells))]

    def union(self, chosen: int) -> int:
        """The cells of some runs."""
        return reduce(or_, [self.cells[run] for run in members(chosen)], 0)

    def grown(self, start: int) -> Iterator[int]:
        """The runs of an area after each that is taken in, as bits."""
        order = islice(taken_in(self.lengths, self.crossing, start), _MOST_RUNS)
        return accumulate([1 << run for run in order], or_)

    def covering(self, chosen: int) -> int:
        """The runs of the other way of which more cells lie in these than outside."""
        cells = self.union(chosen)
        near = {other for run in members(chosen) for other in self.crossing[run]}
        return set_of(run for run in near
                      if 2 * (self.cells[run] & cells).bit_count() > self.cells[run].bit_count())

    def leaves(self, chosen: int, other: int) -> bool:
        """Whether some runs have more cells that others lack than these have, or as many and are across."""
        cells, theirs = self.union(chosen), self.union(other)
        over, short = (cells & ~theirs).bit_count(), (theirs & ~cells).bit_count()
        return over > short or (over == short and bool(chosen & self.across))
