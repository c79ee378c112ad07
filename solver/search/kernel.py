"""Puzzle -> kernel: the facts as index tables, bit masks and propagators, laid out for the search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cagework.solver.bitset import members
from cagework.solver.model import HouseKind, Puzzle
from cagework.solver.search import propagators
from cagework.solver.search.rule_of_45 import most_cells, remainders

Draft = tuple[int, Sequence[int], propagators.Propagator]
"""A propagator with its place in the order and its cells."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of a puzzle; cells are numbers from 0, row by row, and masks have bit d - 1 for digit d.

    `possible` is False where the facts contradict each other as they stand. `candidates` are the masks to
    start from. `peers` are the cells that see each cell, as `seen` has them in bits; a cell may stand there more
    than once, and its own number does. `houses` are those that hold all digits, `sums` the cages with their
    totals, both as bits; `known` are the remainders among the facts.
    """

    size: int
    possible: bool
    candidates: list[int]
    peers: list[list[int]]
    seen: list[int]
    houses: list[tuple[HouseKind, int]]
    sums: list[tuple[int, int]]
    drafts: list[Draft]
    givens: bool
    known: frozenset[tuple[int, int]] = frozenset()


@dataclass(frozen=True, slots=True)
class Kernel:
    """What propagation works on: the facts as `propagators`, cheapest first, and the cells of each.

    `touching` are the propagators each cell is in, as bits, and `constraints` counts those other than houses.
    `fresh` are the propagators that have not run yet, as bits.
    """

    peers: list[list[int]]
    propagators: list[propagators.Propagator]
    cells: list[Sequence[int]]
    touching: list[int]
    constraints: list[int]
    fresh: int


_PAIRS, _HOUSES, _LONG = 0, 3, 40
"""Places in the order: sums of two and three cells come before houses, longer cages after, and what only
trims bounds last (measured).
"""


def lower(puzzle: Puzzle) -> Kernel:
    """Lay a puzzle out, with all that the 45 rule gives."""
    facts = stated(puzzle)
    return kernel(with_remainders(facts, facts.candidates, most_cells(puzzle.size)))


def stated(puzzle: Puzzle) -> Facts:
    """What a puzzle states, and no more."""
    size = puzzle.size
    candidates = [(1 << size) - 1] * size**2
    for given in puzzle.givens:
        candidates[(given.cell.row - 1) * size + given.cell.col - 1] &= 1 << given.digit - 1
    back = size + 1
    houses = [[row * size + col - back for row, col in house.cells] for house in puzzle.houses]
    cages = [[row * size + col - back for row, col in cage.cells] for cage in puzzle.cages]
    unequal, drafts = _pairs(puzzle)
    groups = [*houses, *cages, *unequal]
    peers, seen, masks = _peers(size**2, groups)
    whole = []
    for house, cells, mask in zip(puzzle.houses, houses, masks, strict=False):
        if len(cells) == size:
            whole.append((house.kind, mask))
            drafts.append((_HOUSES, cells, propagators.house(size, cells)))
    sums = []
    for cage, cells, mask in zip(puzzle.cages, cages, masks[len(houses):], strict=False):
        if cage.total is not None:
            sums.append((mask, cage.total))
            drafts.append(_sum(size, cells, cage.total, seen))
    possible = len(max(groups, key=len, default=())) <= size
    return Facts(size, possible, candidates, peers, seen, whole, sums, drafts, bool(puzzle.givens))


def with_remainders(facts: Facts, candidates: list[int], most: int) -> Facts:
    """The facts with remainders of at most `most` cells, by the 45 rule, for the cells that are open yet."""
    size, seen, possible = facts.size, facts.seen, facts.possible
    open_ = sum([1 << cell for cell, mask in enumerate(candidates) if mask & mask - 1])
    kinds: dict[HouseKind, list[tuple[int, int]]] = {kind: [] for kind in HouseKind}
    house_total = size * (size + 1) // 2
    for kind, cells in facts.houses:
        kinds[kind].append((cells & open_, house_total - _placed(cells & ~open_, candidates)))
    cages = [
        (cells & open_, total - _placed(cells & ~open_, candidates))
        for cells, total in facts.sums if cells & open_
    ]
    known = set(facts.known)
    stated_sums = {cells for cells, _ in cages}
    drafts = facts.drafts[:]
    for plus, minus, total in remainders(
        size,
        (kinds[HouseKind.REGION], kinds[HouseKind.EXTRA]),
        (kinds[HouseKind.ROW], kinds[HouseKind.COLUMN]),
        cages,
        most,
    ):
        if not plus:
            possible = False
            continue
        distinct = not minus and _all_see_each_other(plus, members(plus), seen)
        if (plus, minus) in facts.known or (distinct and plus in stated_sums):
            continue
        known.add((plus, minus))
        added = members(plus)
        if distinct:
            drafts.append(_sum(size, added, total, seen))
        else:
            taken = members(minus)
            count = len(added) + len(taken)
            propagator = propagators.balance(size, added, taken, total)
            drafts.append((count - 2 if count < 4 else _LONG + count, added + taken, propagator))
    if most == most_cells(size):
        drafts += _leftovers(size, facts.houses)
    return Facts(size, possible, facts.candidates, facts.peers, seen, facts.houses, facts.sums, drafts,
                 facts.givens, frozenset(known))


def kernel(facts: Facts, earlier: int = 0) -> Kernel:
    """Lay facts out for propagation; the first `earlier` of them have run."""
    order = sorted(range(len(facts.drafts)), key=lambda number: facts.drafts[number][0])
    drafts = [facts.drafts[number] for number in order]
    touching = [0] * len(facts.candidates)
    constraints = [0] * len(facts.candidates)
    fresh, bit = 0, 1
    for number, (place, cells, _) in zip(order, drafts, strict=True):
        for cell in cells:
            touching[cell] |= bit
        if place != _HOUSES:
            for cell in cells:
                constraints[cell] += 1
        if number >= earlier and (place != _HOUSES or facts.givens):
            fresh |= bit
        bit <<= 1
    return Kernel(facts.peers, [draft[2] for draft in drafts], [draft[1] for draft in drafts], touching,
                  constraints, fresh)


def _leftovers(size: int, houses: list[tuple[HouseKind, int]]) -> list[Draft]:
    """Rows and as many irregular regions hold the same digits, and so does what each has beside the other.

    This is the 45 rule with regions for cages that make one each: where that leaves nought there are as many
    rows as regions. A side as large as a house says nothing new.
    """
    kinds = {kind: [(cells, 1) for each, cells in houses if each is kind] for kind in HouseKind}
    bands = kinds[HouseKind.ROW], kinds[HouseKind.COLUMN]
    return [
        (_HOUSES + 1, members(plus) + members(minus), propagators.same(members(plus), members(minus)))
        for plus, minus, total in remainders(size, (), bands, kinds[HouseKind.REGION], 2 * size - 2)
        if total == 0
    ]


def _placed(cells: int, candidates: list[int]) -> int:
    """What the digits of cells that are placed make."""
    return sum([candidates[cell].bit_length() for cell in members(cells)]) if cells else 0


def _sum(size: int, cells: Sequence[int], total: int, seen: list[int]) -> Draft:
    """A sum of distinct digits: two cells have a propagator of their own."""
    count = len(cells)
    if count == 2:
        return 0, cells, propagators.domino(size, cells[0], cells[1], total, seen)
    return count - 2 if count < 4 else count, cells, propagators.cage(size, cells, total, seen)


def _pairs(puzzle: Puzzle) -> tuple[list[list[int]], list[Draft]]:
    """The pairs that only say 'different', which are peers like any other, and propagators for the rest."""
    size = puzzle.size
    different = tuple([((1 << size) - 1) & ~(1 << digit) for digit in range(size)])
    unequal: list[list[int]] = []
    drafts: list[Draft] = []
    back = size + 1
    for pair in puzzle.pairs:
        (row, col), (other_row, other_col) = pair.first, pair.second
        first, second = row * size + col - back, other_row * size + other_col - back
        if pair.allowed == different:
            unequal.append([first, second])
        else:
            drafts.append((_PAIRS, (first, second), propagators.pair(first, second, pair.allowed)))
    return unequal, drafts


def _peers(count: int, groups: list[list[int]]) -> tuple[list[list[int]], list[int], list[int]]:
    """For each cell the cells that see it, as lists and as bits; and the groups as bits."""
    one = [1 << cell for cell in range(count)]
    peers: list[list[int]] = [[] for _ in range(count)]
    seen = [0] * count
    masks = []
    for group in groups:
        mask = 0
        for cell in group:
            mask |= one[cell]
        masks.append(mask)
        for cell in group:
            seen[cell] |= mask
            peers[cell] += group
    for cell in range(count):
        seen[cell] &= ~one[cell]
    return peers, seen, masks


def _all_see_each_other(cells: int, numbers: Sequence[int], seen: list[int]) -> bool:
    return all(cells & ~seen[cell] == 1 << cell for cell in numbers)
