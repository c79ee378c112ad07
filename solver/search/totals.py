"""The propagator of sums whose digits may repeat: the grid -> what it loses by one, as `propagators` have it."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.search.fields import Fields
from cagework.solver.search.propagators import Propagator
from cagework.solver.support import mirror


def total(shape: Fields, plus: Sequence[int], minus: Sequence[int], totals: Sequence[int]) -> Propagator:
    """The cells of `plus` less those of `minus` make one of some totals; exact.

    A cell that is taken off counts as its mirror image, so all is a sum. What the first cells can make is a set of
    small numbers, an int with bit n for n: one shift adds a digit to all of them.
    """
    size, full = shape.size, (1 << shape.size) - 1
    reverse = mirror(size)
    places = [(cell * shape.width, False) for cell in plus] + [(cell * shape.width, True) for cell in minus]
    turned = len(minus) * (size + 1)
    wanted_in_all = sum([1 << one + turned for one in totals if 0 <= one + turned <= len(places) * size])

    def lost(grid: int) -> int:
        made, stages = 1, []
        for place, back in places:
            mask = reverse[grid >> place & full] if back else grid >> place & full
            stages.append((place, back, mask, made))
            further = 0
            while mask:
                bit = mask & -mask
                mask ^= bit
                further |= made << bit.bit_length()
            made = further
        wanted = made & wanted_in_all
        if not wanted:
            return -1
        gone = 0
        for place, back, mask, made in reversed(stages):
            before = held = 0
            rest = mask
            while rest:
                bit = rest & -rest
                rest ^= bit
                leads = wanted >> bit.bit_length() & made
                if leads:
                    held |= bit
                    before |= leads
            wanted = before
            if held != mask:
                gone |= (reverse[mask ^ held] if back else mask ^ held) << place
        return gone

    return lost
