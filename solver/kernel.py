"""Puzzle -> kernel: the facts as index tables and bit masks, laid out for the propagation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cagework.solver.model import Cell, Puzzle


@dataclass(frozen=True, slots=True)
class Kernel:
    """Cells are numbers row by row; a mask has bit d - 1 for digit d.

    `candidates` start the search; `houses` are those that hold every digit; `sums` are (cells, total) with
    distinct digits; `pairs` are (first, second, table, table read the other way).
    """

    size: int
    possible: bool
    candidates: list[int]
    peers: list[list[int]]
    houses: list[list[int]]
    sums: list[tuple[tuple[int, ...], int]]
    pairs: list[tuple[int, int, tuple[int, ...], tuple[int, ...]]]
    houses_of: list[list[int]]
    sums_of: list[list[int]]
    pairs_of: list[list[int]]


def lower(puzzle: Puzzle) -> Kernel:
    """Lay a puzzle out for the propagation."""
    size = puzzle.size
    count = size * size
    full = (1 << size) - 1

    def at(cell: Cell) -> int:
        return (cell.row - 1) * size + cell.col - 1

    candidates = [full] * count
    peers: list[dict[int, None]] = [{} for _ in range(count)]
    groups = [[at(cell) for cell in house.cells] for house in puzzle.houses]
    groups += [[at(cell) for cell in cage.cells] for cage in puzzle.cages]
    different = tuple(full & ~(1 << digit) for digit in range(size))
    pairs = []
    for pair in puzzle.pairs:
        if pair.allowed == different:
            groups.append([at(pair.first), at(pair.second)])
        else:
            table = pair.allowed
            back = tuple(sum((mask >> y & 1) << x for x, mask in enumerate(table)) for y in range(size))
            pairs.append((at(pair.first), at(pair.second), table, back))
    for group in groups:
        for cell in group:
            peers[cell].update(dict.fromkeys(group))
    for given in puzzle.givens:
        candidates[at(given.cell)] &= 1 << given.digit - 1
    houses = [[at(cell) for cell in house.cells] for house in puzzle.houses if len(house.cells) == size]
    sums = [
        (tuple(at(cell) for cell in cage.cells), cage.total)
        for cage in puzzle.cages if cage.total is not None
    ]
    return Kernel(
        size, all(len(group) <= size for group in groups), candidates,
        [[peer for peer in around if peer != cell] for cell, around in enumerate(peers)],
        houses, sums, pairs,
        _index(count, houses), _index(count, [cells for cells, _ in sums]),
        _index(count, [pair[:2] for pair in pairs]),
    )


def _index(count: int, groups: Sequence[Sequence[int]]) -> list[list[int]]:
    """For each cell, the numbers of the groups it is in."""
    index: list[list[int]] = [[] for _ in range(count)]
    for number, group in enumerate(groups):
        for cell in group:
            index[cell].append(number)
    return index
