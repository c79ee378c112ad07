"""Deduction to a fixed point: peers, hidden singles, exact cage support, pairs."""

from __future__ import annotations

from functools import lru_cache

from cagework.solver.combine import combinations_within
from cagework.solver.kernel import Kernel


def propagate(kernel: Kernel, candidates: list[int], changed: int | None) -> bool:
    """Narrow `candidates` in place from the cell `changed`, or from all where None.

    Return False where some cell has none left.
    """
    everything = range(len(candidates))
    todo = list(everything) if changed is None else [changed]
    dirty_houses = set(range(len(kernel.houses))) if changed is None else set()
    dirty_sums = set(range(len(kernel.sums))) if changed is None else set()
    dirty_pairs = set(range(len(kernel.pairs))) if changed is None else set()
    full = (1 << kernel.size) - 1

    def narrow(cell: int, mask: int) -> bool:
        new = candidates[cell] & mask
        if new != candidates[cell]:
            candidates[cell] = new
            todo.append(cell)
        return new != 0

    while True:
        while todo:
            cell = todo.pop()
            dirty_houses.update(kernel.houses_of[cell])
            dirty_sums.update(kernel.sums_of[cell])
            dirty_pairs.update(kernel.pairs_of[cell])
            mask = candidates[cell]
            if not mask & mask - 1:
                for peer in kernel.peers[cell]:
                    if candidates[peer] & mask and not narrow(peer, ~mask):
                        return False
        if dirty_pairs:
            first, second, table, back = kernel.pairs[dirty_pairs.pop()]
            if not (narrow(second, _reach(table, candidates[first]))
                    and narrow(first, _reach(back, candidates[second]))):
                return False
        elif dirty_houses:
            cells = kernel.houses[dirty_houses.pop()]
            once = twice = 0
            for cell in cells:
                mask = candidates[cell]
                twice |= once & mask
                once |= mask
            if once != full:
                return False
            single = once & ~twice
            if single:
                for cell in cells:
                    if candidates[cell] & single and not narrow(cell, single):
                        return False
        elif dirty_sums:
            cells_, total = kernel.sums[dirty_sums.pop()]
            masks = support(tuple([candidates[cell] for cell in cells_]), total)
            for cell, mask in zip(cells_, masks, strict=True):
                if not narrow(cell, mask):
                    return False
        else:
            return True


def _reach(table: tuple[int, ...], mask: int) -> int:
    """All digits some digit of `mask` allows."""
    reached = 0
    for digit, allowed in enumerate(table):
        if mask >> digit & 1:
            reached |= allowed
    return reached


@lru_cache(maxsize=1 << 16)
def support(masks: tuple[int, ...], total: int) -> tuple[int, ...]:
    """Return, for each cell of a cage, the digits it can hold in some filling with distinct digits."""
    union = 0
    for mask in masks:
        union |= mask
    kept = [0] * len(masks)
    order = sorted(range(len(masks)), key=lambda i: masks[i].bit_count())

    def fill(depth: int, left: int) -> bool:
        if depth == len(order):
            return True
        cell = order[depth]
        fits = False
        open_ = masks[cell] & left
        while open_:
            bit = open_ & -open_
            open_ ^= bit
            if fill(depth + 1, left ^ bit):
                kept[cell] |= bit
                fits = True
        return fits

    for combination in combinations_within(union, len(masks), total):
        if all(mask & combination for mask in masks):
            fill(0, combination)
    return tuple(kept)
