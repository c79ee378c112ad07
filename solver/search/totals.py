"""The propagator of sums whose digits may repeat: the grid -> what it loses by one, as `propagators` have it."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.search.fields import Fields
from cagework.solver.search.propagators import Propagator
from cagework.solver.support import mirror, reckoned, totals_with

_MOST_APART = 4
"""Cells of distinct digits that are taken together, at the most."""

Parts = Sequence[Sequence[int]]
"""Cells, those of a part with distinct digits."""


def parts_of(shape: Fields, cells: Sequence[int], seen: Sequence[int]) -> Parts:
    """Cells in parts of a few that see each other; `seen` as for `propagators.cage`."""
    parts: list[list[int]] = []
    for cell in cells:
        for part in parts:
            if len(part) < _MOST_APART and all(seen[other] & shape.lowest[cell] for other in part):
                part.append(cell)
                break
        else:
            parts.append([cell])
    return parts


def total(shape: Fields, plus: Parts, minus: Parts, totals: Sequence[int]) -> Propagator:
    """The cells of `plus` less those of `minus` make one of some totals; exact."""
    size, width, full = shape.size, shape.width, (1 << shape.size) - 1
    same: Sequence[int] = range(full + 1)
    parts = [(tuple([cell * width for cell in part]), turn)
             for side, turn in ((plus, same), (minus, mirror(size))) for part in side]
    wanted = totals_with(size, sum(map(len, (*plus, *minus))), sum(map(len, minus)), totals)

    def lost(grid: int) -> int:
        masks = [tuple([turn[grid >> place & full] for place in places]) for places, turn in parts]
        kept = reckoned(masks, wanted)
        if kept is None:
            return -1
        gone = 0
        if kept != masks:
            for before, after, (places, turn) in zip(masks, kept, parts, strict=True):
                for mask, held, place in zip(before, after, places, strict=True):
                    gone |= turn[mask ^ held] << place
        return gone

    return lost
