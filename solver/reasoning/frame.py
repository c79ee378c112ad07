"""Puzzle -> tables that never change: who sees whom, which houses and cages hold a cell, which areas balance.

Cells are numbers in the puzzle's order; a set of cells is an int with bit c for cell c.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum, auto
from functools import reduce
from operator import or_
from typing import NamedTuple

from cagework.solver.bitset import members, set_of
from cagework.solver.combine import digits_of
from cagework.solver.crossing import is_across
from cagework.solver.model import Cage, Cell, House, Pair, Puzzle, Sum, counted, numbered
from cagework.solver.reasoning.areas import Union, hang_together, house_unions, run_unions
from cagework.solver.reasoning.stated import Taken, sides_of, taken_together
from cagework.solver.step import Cites, Step, Summand

_REMEMBERED = 1 << 16
"""Sets of cells of which it is kept what they have in common."""


class AreaKind(Enum):
    """What an area adds up."""

    HOUSE = auto()
    HOUSES = auto()
    RUNS = auto()


class Crossing(NamedTuple):
    """What is taken from an area and lies only partly in it: a cage or, numbered after these, a sum. Of its cells
    outside those of `counted` count with the area's, where it is taken.
    """

    taken: int
    area: int
    inside: tuple[int, ...]
    outside: tuple[int, ...]
    counted: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Area:
    """Whole houses, or runs of one way, without a common cell, whose totals can be added: `added` are numbers of
    groups.

    `whole` are the cages with a total that lie inside, of runs those of the other way; `loose` the cells in no
    such cage; `crossings` are numbers into the frame's. `splits` are pairs of smaller areas that make up this one.
    Where sums that rules state are taken, too, in the place of cages that meet them, these are `stated`, and
    `plainer` are the areas of the same cells with fewer of them.
    """

    kind: AreaKind
    added: tuple[int, ...]
    total: int
    whole: tuple[int, ...]
    loose: tuple[int, ...]
    crossings: tuple[int, ...]
    touching: int
    splits: tuple[tuple[int, int], ...]
    stated: tuple[Taken, ...]
    plainer: tuple[int, ...]


class Frame:
    """A puzzle laid out for reasoning; `printed` is what each cell can hold before anything is known of it. Digits
    are counted from 1, and `puzzle` says its sums so; `source` is the puzzle as it is printed.
    """

    def __init__(self, puzzle: Puzzle) -> None:
        self.source, puzzle = puzzle, counted(puzzle)
        size = puzzle.size
        count = len(puzzle.cells)
        self.puzzle = puzzle
        self.size = size
        self.full = (1 << size) - 1
        self.printed = [self.full] * count
        self.cells: tuple[Cell, ...] = puzzle.cells
        self.index = numbered(self.cells)
        self.cell_bits = [1 << cell for cell in range(count)]
        for domain in puzzle.domains:
            self.printed[self.index[domain.cell]] &= domain.digits
        self.printed_places = [
            set_of([cell for cell, mask in enumerate(self.printed) if mask >> index & 1]) for index in range(size)]
        self.sums = [tuple([self.index[cell] for cell in one.cells]) for one in puzzle.sums]
        self.sum_bits = [set_of(numbers) for numbers in _index(count, self.sums)]
        self.between_bits = [set_of(numbers) for numbers in _index(
            count, [tuple([self.index[cell] for cell in one.cells]) for one in puzzle.betweens])]
        self.houses = [tuple(self.index[cell] for cell in house.cells) for house in puzzle.houses]
        self.house_sets = [set_of(cells) for cells in self.houses]
        self.whole = [len(cells) == size for cells in self.houses]
        self.whole_bits = set_of(number for number, whole in enumerate(self.whole) if whole)
        self.cages = [tuple(self.index[cell] for cell in cage.cells) for cage in puzzle.cages]
        self.cage_sets = [set_of(cells) for cells in self.cages]
        self.totals = [cage.total for cage in puzzle.cages]
        self.links: dict[tuple[int, int], Cites] = {}
        self.singles: dict[tuple[int, int, int], Step] = {}
        self.cited_groups: dict[tuple[int, ...], tuple[tuple[int, ...], object]] = {}
        self.grouped: dict[object, tuple[int, ...]] = {}
        self.counted: dict[object, tuple[object, object, tuple[Mapping[int, int], int]]] = {}
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
        self._common: dict[int, tuple[int, int]] = {}
        self.near_bits = self._near()
        self.crossings: list[Crossing] = []
        self.areas: list[Area] = []
        self._lay_areas()
        if puzzle.shape is not None:
            self._lay_blocks()
        self.crossed_areas = [crossing.area for crossing in self.crossings]
        self.crossed_inside, self.crossed_outside = (
            _index(count, [(crossing.inside, crossing.outside + crossing.counted)[side]
                           for crossing in self.crossings])
            for side in (0, 1))
        self.loose_in: list[list[int]] = _index(count, [area.loose for area in self.areas])
        self.area_bits = [
            set_of([*own, *[self.crossed_areas[number] for number in (*inside, *outside)]])
            for own, inside, outside in zip(self.loose_in, self.crossed_inside, self.crossed_outside, strict=True)]
        self.area_kinds = dict.fromkeys(AreaKind, 0)
        for number, area in enumerate(self.areas):
            self.area_kinds[area.kind] |= 1 << number

    def told(self, total: int, cells: int, less: int = 0) -> int:
        """What so many cells make, less so many others, as it is printed."""
        return total + (self.source.least - 1) * (cells - less)

    def made_by(self, digits: int) -> int:
        """What these digits, as a mask, add to as they are printed."""
        return self.told(sum(digits_of(digits)), digits.bit_count())

    def source_of(self, one: Sum) -> Sum:
        """A sum as it is printed."""
        return one.raised(self.source.least - 1)

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

    def common(self, cells: int) -> tuple[int, int]:
        """Return what all these cells see, and the houses and, numbered after these, cages that hold all of them,
        both as bits; there are cells.
        """
        known = self._common.get(cells)
        if known is None:
            seen = groups = -1
            for cell in members(cells):
                seen &= self.sees[cell]
                groups &= self.group_bits[cell]
            if len(self._common) >= _REMEMBERED:
                self._common.clear()
            known = self._common[cells] = seen, groups
        return known

    def houses_met(self, cells: int) -> int:
        """Return the houses that hold any of these cells, as bits."""
        met, bits = 0, self.house_bits
        while cells:
            low = cells & -cells
            cells ^= low
            met |= bits[low.bit_length() - 1]
        return met

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
        sides = sides_of(self.puzzle.sums, self.index)
        numbers: list[dict[frozenset[tuple[int, bool]], int]] = []
        for union in house_unions(self.puzzle.size, self.puzzle.houses, self.cells):
            numbers.append({})
            cages = 0
            for house in union.parts:
                cages |= self.sums_in[house]
            kind = AreaKind.HOUSES if len(union.parts) > 1 else AreaKind.HOUSE
            for stated in ((), *(taken_together(union.cells, sides) if sides else ())):
                if len(union.parts) > 1 and not hang_together(union.parts, self._tied(linked, stated)):
                    continue
                ways = frozenset([one.way for one in stated])
                splits = tuple([
                    (one, other) for part, rest in union.splits
                    for first, one in numbers[part].items() if first <= ways
                    for second, other in numbers[rest].items() if second <= ways])
                plainer = tuple([number for fewer, number in numbers[-1].items() if fewer < ways])
                numbers[-1][ways] = len(self.areas)
                self.areas.append(self._area(kind, union, members(cages), splits, stated, plainer))

    def _tied(self, linked: Sequence[int], stated: Iterable[Taken]) -> Sequence[int]:
        """What ties houses to one another: cages, and these sums."""
        tied = list(linked)
        for one in stated:
            met = 0
            for cell in members(one.cells):
                met |= self.house_bits[cell]
            for house in members(met):
                tied[house] |= met
        return tied

    def _lay_blocks(self) -> None:
        """All areas of runs."""
        across, down = (
            tuple([(number, self.cage_sets[number]) for number, cage in enumerate(self.puzzle.cages)
                   if cage.total is not None and is_across(cage.cells) is level]) for level in (True, False))
        levels = {number for number, _ in across}
        for union in run_unions(across, down):
            others = [number for number, cells in (down if union.parts[0] in levels else across)
                      if cells & union.cells]
            parts = tuple([len(self.houses) + number for number in union.parts])
            self.areas.append(self._area(AreaKind.RUNS, replace(union, parts=parts), others, union.splits, (), ()))

    def group(self, number: int) -> House | Cage:
        """Return a house or, numbered after the houses, a cage."""
        split = len(self.houses)
        return self.puzzle.houses[number] if number < split else self.puzzle.cages[number - split]

    def total(self, group: Summand) -> int:
        """Return what a house of all digits, a cage with a sum, or a sum of one total adds to."""
        match group:
            case House():
                return self.size * (self.size + 1) // 2
            case Cage():
                return group.total or 0
            case Sum():
                return group.totals[0]

    def taken(self, number: int) -> tuple[Summand, int]:
        """Return what is taken from an area, a cage or, numbered after these, a sum: and whether that is by taking
        it away (1) or by adding it (-1).
        """
        if number < len(self.cages):
            return self.puzzle.cages[number], 1
        place, added = divmod(number - len(self.cages), 2)
        return self.puzzle.sums[place], -1 if added else 1

    def _area(
        self, kind: AreaKind, union: Union, cages: Iterable[int], splits: tuple[tuple[int, int], ...],
        stated: tuple[Taken, ...], plainer: tuple[int, ...],
    ) -> Area:
        """The area of some houses or runs; `cages` are those with a total that reach into it, of which those are
        passed over that meet a sum.
        """
        cells = union.cells
        whole, first, caged, touching, summed = [], len(self.crossings), 0, 0, 0
        for one in stated:
            summed |= one.cells
            caged |= one.inside
            number = len(self.cages) + 2 * one.number + one.added
            if outside := one.plus | one.minus:
                touching |= one.inside | outside
                self.crossings.append(Crossing(number, len(self.areas), members(one.inside), members(one.minus),
                                               members(one.plus)))
            else:
                whole.append(number)
        sets, number, rows = self.cage_sets, len(self.areas), self.cages
        for cage in cages:
            inside = sets[cage]
            if inside & summed:
                continue
            caged |= inside
            if inside & ~cells:
                touching |= inside
                parts: tuple[list[int], list[int]] = ([], [])
                for cell in rows[cage]:
                    parts[not cells >> cell & 1].append(cell)
                self.crossings.append(Crossing(cage, number, tuple(sorted(parts[0])), tuple(sorted(parts[1]))))
            else:
                whole.append(cage)
        loose = cells & ~caged
        return Area(
            kind, union.parts, sum([self.total(self.group(part)) for part in union.parts]), tuple(whole),
            members(loose), tuple(range(first, len(self.crossings))), touching | loose, splits, stated, plainer,
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

    def cells_of(self, group: House | Cage) -> int:
        """Return the cells of one of the puzzle's houses or cages, as bits."""
        if isinstance(group, House):
            return self.house_sets[self.house_number(group)]
        return self.cage_sets[self.cage_number(group)]

    def shared(self, cells: int) -> list[House]:
        """The houses that hold all these cells."""
        return [self.puzzle.houses[number] for number, house in enumerate(self.house_sets)
                if not cells & ~house]


def _index(count: int, groups: Sequence[Sequence[int]]) -> list[list[int]]:
    """For each cell, the numbers of the groups it is in."""
    index: list[list[int]] = [[] for _ in range(count)]
    for number, group in enumerate(groups):
        for cell in group:
            index[cell].append(number)
    return index
