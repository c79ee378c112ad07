"""Puzzle -> tables that never change: who sees whom, which houses and cages hold a cell, which areas balance.

Cells are numbers in the puzzle's order; a set of cells is an int with bit c for cell c.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from itertools import combinations
from operator import or_

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cage, Cell, House, HouseKind, Pair, Puzzle, numbered
from cagework.solver.step import Cites

_LONGEST_RUN = 4
"""Rows or columns added up at once: beyond half a 9 x 9 grid the rest of it says the same with less."""

_MOST_REGIONS = 3
"""Regions added up at once, besides squares of four."""


@dataclass(frozen=True, slots=True)
class Crossing:
    """A cage partly in an area."""

    cage: int
    area: int
    inside: tuple[int, ...]
    outside: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Area:
    """Whole houses without a common cell, whose totals can be added.

    `whole` are the cages with a total that lie inside; `loose` the cells in no such cage; `crossings` are
    numbers into the frame's. `splits` are pairs of smaller areas that make up this one.
    """

    houses: tuple[int, ...]
    total: int
    whole: tuple[int, ...]
    loose: tuple[int, ...]
    crossings: tuple[int, ...]
    touching: int
    splits: tuple[tuple[int, int], ...]


class Frame:
    """A puzzle laid out for reasoning; `printed` is what each cell can hold before anything is known of it."""

    def __init__(self, puzzle: Puzzle) -> None:
        size = puzzle.size
        count = len(puzzle.cells)
        self.puzzle = puzzle
        self.size = size
        self.full = (1 << size) - 1
        self.printed = [self.full] * count
        self.cells: tuple[Cell, ...] = puzzle.cells
        self.index = numbered(self.cells)
        for domain in puzzle.domains:
            self.printed[self.index[domain.cell]] &= domain.digits
        self.printed_places = [
            set_of([cell for cell, mask in enumerate(self.printed) if mask >> index & 1]) for index in range(size)]
        self.sums = [tuple([self.index[cell] for cell in one.cells]) for one in puzzle.sums]
        self.sum_bits = [set_of(numbers) for numbers in _index(count, self.sums)]
        self.houses = [tuple(self.index[cell] for cell in house.cells) for house in puzzle.houses]
        self.house_sets = [set_of(cells) for cells in self.houses]
        self.whole = [len(cells) == size for cells in self.houses]
        self.cages = [tuple(self.index[cell] for cell in cage.cells) for cage in puzzle.cages]
        self.cage_sets = [set_of(cells) for cells in self.cages]
        self.totals = [cage.total for cage in puzzle.cages]
        sums = [number for number, total in enumerate(self.totals) if total is not None]
        self.sums_in = [
            set_of(number for number in sums if self.cage_sets[number] & cells) for cells in self.house_sets
        ]
        self.houses_of = _index(count, self.houses)
        self.cages_of = _index(count, self.cages)
        self.house_bits = [set_of(numbers) for numbers in self.houses_of]
        self.cage_bits = [set_of(numbers) for numbers in self.cages_of]
        self.group_sets = [*self.house_sets, *self.cage_sets]
        self.group_bits = [
            house | cage << len(self.houses) for house, cage in zip(self.house_bits, self.cage_bits, strict=True)
        ]
        # By identity, which is their own as long as the puzzle is: to compare them takes long.
        self._numbers = {id(group): number for groups in (puzzle.houses, puzzle.cages)
                         for number, group in enumerate(groups)}
        self.differ: dict[tuple[int, int], Pair] = {}
        self.relations: list[tuple[int, int, Pair]] = []
        self._above: dict[int, tuple[int, Pair]] = {}
        self._below: dict[int, tuple[int, Pair]] = {}
        self._sort_pairs(puzzle.pairs)
        self.related = set_of(cell for first, second, _ in self.relations for cell in (first, second))
        self.sees = self._sight(count)
        self.near_bits = self._near()
        self.crossings: list[Crossing] = []
        self.areas: list[Area] = []
        self._lay_areas()
        self.crossed_inside, self.crossed_outside = (
            _index(count, [(crossing.inside, crossing.outside)[side] for crossing in self.crossings])
            for side in (0, 1))
        self.loose_in: list[list[int]] = _index(count, [area.loose for area in self.areas])
        self.area_bits = [0] * count
        for number, area in enumerate(self.areas):
            for cell in members(area.touching):
                self.area_bits[cell] |= 1 << number

    def _sort_pairs(self, pairs: Iterable[Pair]) -> None:
        """Tell plain 'these two differ' from every other relation."""
        ones = [1 << digit for digit in range(self.size)]
        differ = tuple([self.full & ~one for one in ones])
        less, more = tuple([self.full & -one << 1 for one in ones]), tuple([one - 1 for one in ones])
        for pair in pairs:
            first, second = self.index[pair.first], self.index[pair.second]
            if pair.allowed == differ:
                self.differ[first, second] = self.differ[second, first] = pair
            else:
                self.relations.append((first, second, pair))
            if pair.allowed in (less, more):
                low, high = (first, second) if pair.allowed == less else (second, first)
                self._above.setdefault(low, (high, pair))
                self._below.setdefault(high, (low, pair))

    def run_through(self, cell: int) -> tuple[tuple[int, ...], tuple[Pair, ...]]:
        """Cells along which digits rise, each tied to the next by a rule, this one among them; and the ties."""
        run, pairs = [cell], []
        while (after := self._above.get(run[-1])) and after[0] not in run:
            run.append(after[0])
            pairs.append(after[1])
        while (before := self._below.get(run[0])) and before[0] not in run:
            run.insert(0, before[0])
            pairs.insert(0, before[1])
        return tuple(run), tuple(pairs)

    def _sight(self, count: int) -> list[int]:
        sees = [0] * count
        for cells, together in zip((*self.houses, *self.cages), self.group_sets, strict=True):
            for cell in cells:
                sees[cell] |= together
        for first, second in self.differ:
            sees[first] |= 1 << second
        return [seen & ~(1 << cell) for cell, seen in enumerate(sees)]

    def _near(self) -> list[int]:
        """For each cell, the cages that are near it: that see it, or a cell of a cage or house of its."""
        return self._spread(self._spread(self.cage_bits))

    def _spread(self, sets: Sequence[int]) -> list[int]:
        """For each cell, the sets of all cells that it sees, and its own, as one."""
        spread = list(sets)
        for cells in (*self.houses, *self.cages, *self.differ):
            union = reduce(or_, [sets[cell] for cell in cells])
            for cell in cells:
                spread[cell] |= union
        return spread

    def _lay_areas(self) -> None:
        """All areas: single houses first, then runs of rows and of columns, then touching regions."""
        linked = [0] * len(self.houses)
        for cells, total in zip(self.cages, self.totals, strict=True):
            if total is None:
                continue
            met = 0
            for cell in cells:
                met |= self.house_bits[cell]
            for house in members(met):
                linked[house] |= met
        numbers: dict[int, int] = {}
        for place, union in enumerate(_unions(self.puzzle.size, self.puzzle.houses, self.cells)):
            if len(union.houses) > 1 and not _hang_together(union.houses, linked):
                continue
            numbers[place] = len(self.areas)
            splits = tuple([
                (numbers[part], numbers[rest]) for part, rest in union.splits
                if part in numbers and rest in numbers
            ])
            cages = 0
            for house in union.houses:
                cages |= self.sums_in[house]
            self.areas.append(self._area(union, members(cages), splits))

    def _area(
        self, union: _Union, cages: Iterable[int], splits: tuple[tuple[int, int], ...]
    ) -> Area:
        """The area of some houses; `cages` are those with a total that reach into it."""
        cells = union.cells
        whole, first, caged, touching = [], len(self.crossings), 0, 0
        for cage in cages:
            inside = self.cage_sets[cage]
            caged |= inside
            if inside & ~cells:
                touching |= inside
                parts = members(inside & cells), members(inside & ~cells)
                self.crossings.append(Crossing(cage, len(self.areas), *parts))
            else:
                whole.append(cage)
        loose = cells & ~caged
        return Area(
            union.houses, len(union.houses) * self.size * (self.size + 1) // 2, tuple(whole), members(loose),
            tuple(range(first, len(self.crossings))), touching | loose, splits,
        )

    def missing(self, cites: Cites) -> dict[int, int]:
        """Return the digits that a citation has as missing (cell -> mask)."""
        return {self.index[cell]: mask for cell, mask in cites.eliminated}

    def lacking(self, eliminated: Mapping[int, int]) -> list[int]:
        """Return every cell's candidates where just these digits are missing."""
        masks = [self.full] * len(self.cells)
        for cell, mask in eliminated.items():
            masks[cell] &= ~mask
        return masks

    def cited(self, cites: Cites) -> list[int]:
        """Return every cell's candidates by a citation."""
        return self.lacking(self.missing(cites))

    def lost(self, masks: Sequence[int]) -> dict[int, int]:
        """Return what each cell lacks where cells hold `masks` (cell -> mask)."""
        return {cell: self.full & ~mask for cell, mask in enumerate(masks)}

    def house_number(self, house: House) -> int:
        """Return which of the puzzle's houses this is. ValueError where it is none of them."""
        known = self._numbers.get(id(house))
        return self.puzzle.houses.index(house) if known is None else known

    def cage_number(self, cage: Cage) -> int:
        """Return which of the puzzle's cages this is. ValueError where it is none of them."""
        known = self._numbers.get(id(cage))
        return self.puzzle.cages.index(cage) if known is None else known

    def shared(self, cells: int) -> list[House]:
        """The houses that hold all these cells."""
        return [self.puzzle.houses[number] for number, house in enumerate(self.house_sets)
                if not cells & ~house]


@dataclass(frozen=True, slots=True)
class _Union:
    """Houses worth adding up, and their cells; `splits` are pairs of unions before it that make up this one."""

    houses: tuple[int, ...]
    cells: int
    splits: tuple[tuple[int, int], ...]


@lru_cache(maxsize=8)
def _unions(size: int, houses: tuple[House, ...], cells_of: tuple[Cell, ...]) -> tuple[_Union, ...]:
    """All unions, smaller ones first: they are the same for every puzzle with these houses."""
    index = numbered(cells_of)
    sets = [set_of(index[cell] for cell in house.cells) for house in houses]
    numbers: dict[frozenset[int], int] = {}
    unions: list[_Union] = []
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
        unions.append(_Union(chosen, cells, splits))
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


def _hang_together(houses: Sequence[int], linked: Sequence[int]) -> bool:
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


def _index(count: int, groups: Sequence[Sequence[int]]) -> list[list[int]]:
    """For each cell, the numbers of the groups it is in."""
    index: list[list[int]] = [[] for _ in range(count)]
    for number, group in enumerate(groups):
        for cell in group:
            index[cell].append(number)
    return index
