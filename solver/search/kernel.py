"""Puzzle -> kernel: the facts as index tables, bit masks and propagators, laid out for the search."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.solver.bitset import members
from cagework.solver.model import HouseKind, Puzzle
from cagework.solver.search import propagators
from cagework.solver.search.rule_of_45 import remainders


@dataclass(frozen=True, slots=True)
class Kernel:
    """What propagation works on; cells are numbers from 0, row by row, and masks have bit d - 1 for digit d.

    `possible` is False where the facts contradict each other as they stand. `candidates` are the masks to
    start from, `peers` the cells that see each cell, `propagators` the facts, cheapest first, and
    `touching` the propagators each cell is in, as bits. `constraints` counts those other than houses.
    """

    size: int
    possible: bool
    candidates: list[int]
    peers: list[tuple[int, ...]]
    propagators: list[propagators.Propagator]
    touching: list[int]
    constraints: list[int]


Draft = tuple[int, tuple[int, ...], propagators.Propagator]
"""A propagator with its place in the order and its cells."""

_PAIRS, _HOUSES, _LONG = 0, 3, 40
"""Places in the order: sums of two and three cells come before houses, longer cages after, and what only
trims bounds last (measured).
"""


def lower(puzzle: Puzzle) -> Kernel:
    """Lay a puzzle out."""
    size = puzzle.size
    candidates = [(1 << size) - 1] * size**2
    for given in puzzle.givens:
        candidates[(given.cell.row - 1) * size + given.cell.col - 1] &= 1 << given.digit - 1
    houses = [
        (house.kind, tuple([(row - 1) * size + col - 1 for row, col in house.cells])) for house in puzzle.houses
    ]
    cages = [
        (tuple([(row - 1) * size + col - 1 for row, col in cage.cells]), cage.total) for cage in puzzle.cages
    ]
    unequal, drafts = _pairs(puzzle)
    groups = [cells for _, cells in houses] + [cells for cells, _ in cages] + unequal
    peers, seen = _peers(size**2, groups)
    sums = [(cells, total) for cells, total in cages if total is not None]
    left = _remainders(size, houses, sums)
    drafts += [(_HOUSES, cells, propagators.house(size, cells)) for _, cells in houses if len(cells) == size]
    possible = all(len(group) <= size for group in groups)
    known = {sum(1 << cell for cell in cells) for cells, _ in sums}
    for plus, minus, total in left:
        if not plus:
            possible = False
        elif not minus and _all_see_each_other(plus, seen):
            if plus not in known:
                sums.append((members(plus), total))
        else:
            cells = members(plus | minus)
            propagator = propagators.balance(size, members(plus), members(minus), total)
            drafts.append((len(cells) - 2 if len(cells) < 4 else _LONG + len(cells), cells, propagator))
    for cells, total in sums:
        order = len(cells) - 2 if len(cells) < 4 else len(cells)
        drafts.append((order, cells, propagators.cage(size, cells, total, seen)))
    return _assembled(size, possible, candidates, peers, drafts)


def _assembled(
    size: int, possible: bool, candidates: list[int], peers: list[tuple[int, ...]], drafts: list[Draft]
) -> Kernel:
    drafts.sort(key=lambda draft: draft[0])
    touching = [0] * size**2
    constraints = [0] * size**2
    for number, (order, cells, _) in enumerate(drafts):
        for cell in cells:
            touching[cell] |= 1 << number
            constraints[cell] += order != _HOUSES
    return Kernel(size, possible, candidates, peers, [draft[2] for draft in drafts], touching, constraints)


def _pairs(puzzle: Puzzle) -> tuple[list[tuple[int, ...]], list[Draft]]:
    """The pairs that only say 'different', which are peers like any other, and propagators for the rest."""
    size = puzzle.size
    different = tuple(((1 << size) - 1) & ~(1 << digit) for digit in range(size))
    unequal: list[tuple[int, ...]] = []
    drafts: list[Draft] = []
    for pair in puzzle.pairs:
        first, second = ((cell.row - 1) * size + cell.col - 1 for cell in (pair.first, pair.second))
        if pair.allowed == different:
            unequal.append((first, second))
        else:
            drafts.append((_PAIRS, (first, second), propagators.pair(first, second, pair.allowed)))
    return unequal, drafts


def _peers(count: int, groups: list[tuple[int, ...]]) -> tuple[list[tuple[int, ...]], list[int]]:
    """For each cell the cells that see it, as a list and as bits."""
    seen = [0] * count
    for group in groups:
        mask = 0
        for cell in group:
            mask |= 1 << cell
        for cell in group:
            seen[cell] |= mask
    for cell in range(count):
        seen[cell] &= ~(1 << cell)
    return [members(mask) for mask in seen], seen


def _remainders(
    size: int, houses: list[tuple[HouseKind, tuple[int, ...]]], sums: list[tuple[tuple[int, ...], int]]
) -> list[tuple[int, int, int]]:
    """What the 45 rule gives for these houses and cages."""
    kinds: dict[HouseKind, list[int]] = {kind: [] for kind in HouseKind}
    for kind, cells in houses:
        if len(cells) == size:
            kinds[kind].append(sum([1 << cell for cell in cells]))
    return remainders(
        size,
        (kinds[HouseKind.REGION], kinds[HouseKind.EXTRA]),
        (kinds[HouseKind.ROW], kinds[HouseKind.COLUMN]),
        [(sum([1 << cell for cell in cells]), total) for cells, total in sums],
    )


def _all_see_each_other(cells: int, seen: list[int]) -> bool:
    return all(cells & ~seen[cell] == 1 << cell for cell in members(cells))
