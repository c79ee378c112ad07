"""The propagator of sums whose digits may repeat: the grid -> what it loses by one, as `propagators` have it."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.search.fields import Fields
from cagework.solver.search.propagators import Propagator
from cagework.solver.support import mirror, reckoned, totals_with


def total(shape: Fields, plus: Sequence[int], minus: Sequence[int], totals: Sequence[int]) -> Propagator:
    """The cells of `plus` less those of `minus` make one of some totals; exact."""
    size, full = shape.size, (1 << shape.size) - 1
    both, same = (*plus, *minus), range(full + 1)
    places = [cell * shape.width for cell in both]
    turns: list[Sequence[int]] = [same] * len(plus) + [mirror(size)] * len(minus)
    wanted = totals_with(size, len(both), len(minus), totals)

    def lost(grid: int) -> int:
        masks = [turn[grid >> place & full] for place, turn in zip(places, turns, strict=True)]
        kept = reckoned(masks, wanted)
        if kept is None:
            return -1
        gone = 0
        if kept != masks:
            for mask, held, place, turn in zip(masks, kept, places, turns, strict=True):
                gone |= turn[mask ^ held] << place
        return gone

    return lost
