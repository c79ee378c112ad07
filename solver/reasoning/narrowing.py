"""Narrowing by what a puzzle states, cell by cell: whether a supposition fails, and how far it goes before.

This is plainer and slower than the search's, and its order is part of what it tells: `Doom` takes the candidates
that fail soon first, so a path does not hang on how the search goes about its work.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from operator import itemgetter

from cagework.solver.between import held_between
from cagework.solver.bitset import members, set_of
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.filling import supported, union_of
from cagework.solver.support import mirror, needed, reckoned, totals_with

Changes = Iterable[tuple[int, int]]
"""Cells with the digits that they may keep."""

Look = Callable[[list[int]], Changes | None]
"""A fact: the candidates -> what it changes; None where it cannot hold."""


_HOUSE = 3.5
"""Houses come after cages of three cells, before those of four."""


@dataclass(frozen=True, slots=True)
class Narrowing:
    """The facts of a puzzle, shortest first, and by cell: those it is in as bits, and who sees it.

    A cell may stand among `peers` more than once, and its own number does.
    """

    facts: tuple[Look, ...]
    touching: tuple[int, ...]
    peers: tuple[tuple[int, ...], ...]

    def fails(self, candidates: list[int], changed: Iterable[int]) -> bool:
        """Narrow `candidates` in place by what follows from the cells `changed`; whether some fact cannot hold."""
        touching = self.touching
        singles, waiting = [], 0
        for cell in changed:
            waiting |= touching[cell]
            if not candidates[cell] & candidates[cell] - 1:
                singles.append(cell)
        while True:
            while singles:
                cell = singles.pop()
                digit = candidates[cell]
                candidates[cell] = 0        # it is among its own peers
                for peer in self.peers[cell]:
                    mask = candidates[peer]
                    if mask & digit:
                        mask ^= digit
                        if not mask:
                            return True
                        candidates[peer] = mask
                        waiting |= touching[peer]
                        if not mask & mask - 1:
                            singles.append(peer)
                candidates[cell] = digit
            if not waiting:
                return False
            low = waiting & -waiting
            changes = self.facts[low.bit_length() - 1](candidates)
            if changes is None:
                return True
            for cell, keep in changes:
                mask = candidates[cell]
                kept = mask & keep
                if kept != mask:
                    if not kept:
                        return True
                    candidates[cell] = kept
                    waiting |= touching[cell]
                    if not kept & kept - 1:
                        singles.append(cell)
            waiting &= ~low


def narrowing(puzzle: Puzzle) -> Narrowing:
    """Lay a puzzle's facts out."""
    size, full = puzzle.size, (1 << puzzle.size) - 1
    number = {cell: at for at, cell in enumerate(puzzle.cells)}
    houses, cages = ([[number[cell] for cell in group.cells] for group in groups]
                     for groups in (puzzle.houses, puzzle.cages))
    different = tuple([full & ~(1 << digit) for digit in range(size)])
    pairs = [((number[pair.first], number[pair.second]), pair.allowed) for pair in puzzle.pairs]
    groups: list[Sequence[int]] = [*houses, *cages, *(cells for cells, allowed in pairs if allowed == different)]
    peers: list[list[int]] = [[] for _ in number]
    for group in groups:
        for cell in group:
            peers[cell] += group
    seen = tuple([set_of(near) & ~(1 << cell) for cell, near in enumerate(peers)])
    placed: list[tuple[float, Sequence[int], Look]] = [
        (2, cells, partial(_pair, *cells, allowed, _turned(allowed)))
        for cells, allowed in pairs if allowed != different
    ]
    placed += [(_HOUSE, cells, partial(_house, cells, itemgetter(*cells), full))
               for cells in houses if len(cells) == size]
    for cage, cells in zip(puzzle.cages, cages, strict=True):
        if cage.total is not None:
            look = _two if len(cells) == 2 else _cage
            placed.append((len(cells), cells, partial(look, size, cells, cage.total, seen)))
    for one in puzzle.sums:
        cells = [number[cell] for cell in one.cells]
        turns: list[Sequence[int]] = [range(full + 1)] * len(one.plus) + [mirror(size)] * len(one.minus)
        wanted = totals_with(size, len(cells), len(one.minus), one.totals)
        placed.append((len(cells), cells, partial(_sum, cells, turns, wanted)))
    for line in puzzle.betweens:
        ends, inner = ([number[cell] for cell in cells] for cells in (line.ends, line.inner))
        placed.append((len(line.cells), ends + inner, partial(_between, ends, inner)))
    placed.sort(key=lambda fact: fact[0])
    touching = [0] * len(number)
    for at, fact in enumerate(placed):
        for cell in fact[1]:
            touching[cell] |= 1 << at
    return Narrowing(tuple([fact for _, _, fact in placed]), tuple(touching), tuple(map(tuple, peers)))


def _house(
    cells: Sequence[int], held: Callable[[list[int]], Sequence[int]], full: int, candidates: list[int],
) -> Changes | None:
    """A digit with one place left goes there; one with none, or two with only one place, cannot be."""
    once = twice = 0
    masks = held(candidates)
    for mask in masks:
        twice |= once & mask
        once |= mask
    if once != full:
        return None
    single = once & ~twice
    if not single:
        return ()
    changes = []
    for cell, mask in zip(cells, masks, strict=True):
        fixed = mask & single
        if fixed and fixed != mask:
            if fixed & fixed - 1:
                return None
            changes.append((cell, fixed))
    return changes


def _two(
    size: int, cells: Sequence[int], total: int, seen: Sequence[int], candidates: list[int]
) -> Changes | None:
    """As `_cage`, for two cells: their digits answer each other by mirror and shift."""
    first, second = cells
    one, other = candidates[first], candidates[second]
    reverse, shift = mirror(size), total - size - 1
    up, down = (shift, 0) if shift > 0 else (0, -shift)
    kept = one & reverse[other] << up >> down
    if total > 1 and not total & 1:
        kept &= ~(1 << (total >> 1) - 1)
    if not kept:
        return None
    answers = reverse[kept] << up >> down
    both = ((first, kept), (second, answers))
    if kept == answers and kept.bit_count() == 2:
        return *((cell, ~kept) for cell in members(seen[first] & seen[second])), *both
    return both


def _cage(
    size: int, cells: Sequence[int], total: int, seen: Sequence[int], candidates: list[int]
) -> Changes | None:
    """What each cell can hold; a digit that all ways need leaves the cells that see all its places."""
    open_, held = [], []
    for cell in cells:
        mask = candidates[cell]
        if mask & mask - 1:
            open_.append(cell)
            held.append(mask)
        else:
            total -= mask.bit_length()
    if not open_:
        return None if total else ()
    kept = supported(tuple(held), total)
    if not kept:
        return None
    changes = list(zip(open_, kept, strict=True))
    if len(kept) > 1:
        union = union_of(kept)
        common = union if union.bit_count() == len(kept) else needed(size, union, len(kept), total)
        while common:
            digit = common & -common
            common ^= digit
            everywhere = -1
            for cell, mask in changes[:len(kept)]:
                if mask & digit:
                    everywhere &= seen[cell]
            if everywhere:
                changes += [(cell, ~digit) for cell in members(everywhere) if candidates[cell] & digit]
    return changes


def _sum(
    cells: Sequence[int], turns: Sequence[Sequence[int]], wanted: int, candidates: list[int]
) -> Changes | None:
    """What each cell can hold where digits may repeat; `turns` mirror the cells that are taken off."""
    kept = reckoned([(turn[candidates[cell]],) for cell, turn in zip(cells, turns, strict=True)], wanted)
    if kept is None:
        return None
    return [(cell, turn[mask]) for cell, turn, (mask,) in zip(cells, turns, kept, strict=True)]


def _between(ends: Sequence[int], inner: Sequence[int], candidates: list[int]) -> Changes | None:
    """What two cells can hold, and those between them."""
    first, last = (candidates[cell] for cell in ends)
    kept = held_between(first, last, [candidates[cell] for cell in inner])
    return list(zip((*ends, *inner), kept, strict=True)) if kept else None


def _pair(
    first: int, second: int, allowed: Sequence[int], turned: Sequence[int], candidates: list[int]
) -> Changes | None:
    """Each of two cells keeps the digits that some digit of the other allows."""
    kept = candidates[second] & union_of([allowed[index] for index in members(candidates[first])])
    left = candidates[first] & union_of([turned[index] for index in members(kept)])
    return ((second, kept), (first, left)) if kept else None


def _turned(allowed: Sequence[int]) -> tuple[int, ...]:
    """What each digit of the second cell allows the first."""
    return tuple([set_of([index for index, mask in enumerate(allowed) if mask >> other & 1])
                  for other in range(len(allowed))])
