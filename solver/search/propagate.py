"""Deduction to a fixed point over a kernel."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from cagework.solver.search.kernel import Kernel

_PAUSE = 64
"""Facts looked at between two looks at the clock: a large grid's narrowing may take seconds."""


def propagate(
    kernel: Kernel, candidates: list[int], changed: Iterable[int] | None,
    pause: Callable[[], None] = lambda: None,
) -> bool:
    """Narrow `candidates` in place from the cells `changed`; from all where None.

    Return False where some fact cannot hold; the candidates are then of no use. `pause` is called now and then,
    and may raise to break off.
    """
    peers, touching, propagators = kernel.peers, kernel.touching, kernel.propagators
    if changed is None:
        singles = [cell for cell, mask in enumerate(candidates) if not mask & mask - 1]
        if any(not candidates[cell] for cell in singles):
            return False
        waiting = (1 << len(propagators)) - 1
    else:
        singles, waiting = [], 0
        for cell in changed:
            waiting |= touching[cell]
            if not candidates[cell] & candidates[cell] - 1:
                singles.append(cell)
    rounds = 0
    while True:
        while singles:
            cell = singles.pop()
            digit = candidates[cell]
            for peer in peers[cell]:
                mask = candidates[peer]
                if mask & digit:
                    mask ^= digit
                    if not mask:
                        return False
                    candidates[peer] = mask
                    waiting |= touching[peer]
                    if not mask & mask - 1:
                        singles.append(peer)
        if not waiting:
            return True
        rounds += 1
        if not rounds % _PAUSE:
            pause()
        # The lowest bit is the cheapest propagator that waits.
        low = waiting & -waiting
        changes = propagators[low.bit_length() - 1](candidates)
        if changes is None:
            return False
        for cell, keep in changes:
            mask = candidates[cell]
            kept = mask & keep
            if kept != mask:
                if not kept:
                    return False
                candidates[cell] = kept
                waiting |= touching[cell]
                if not kept & kept - 1:
                    singles.append(cell)
        waiting &= ~low
