"""Deduction to a fixed point over a kernel."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from cagework.solver.search.kernel import Kernel

_BLAME = 0.1
"""What a cell of the fact that failed counts for, beside a fact it is in (measured)."""

_PAUSE = 64
"""Facts looked at between two looks at the clock: a large grid's narrowing may take seconds."""


def propagate(
    kernel: Kernel, candidates: list[int], changed: Iterable[int] | None,
    pause: Callable[[], None] = lambda: None, blame: list[float] | None = None,
) -> bool:
    """Narrow `candidates` in place from the cells `changed`; by what is fresh where None.

    Return False where some fact cannot hold; the candidates are then of no use. `pause` is called now and then,
    and may raise to break off.
    """
    peers, touching, propagators = kernel.peers, kernel.touching, kernel.propagators
    if changed is None:
        singles = [cell for cell, mask in enumerate(candidates) if not mask & mask - 1]
        if not all(candidates):
            return False
        waiting = kernel.fresh
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
            # It is among its own peers.
            candidates[cell] = 0
            for peer in peers[cell]:
                mask = candidates[peer]
                if mask & digit:
                    mask ^= digit
                    if not mask:
                        if blame:
                            blame[cell] += _BLAME
                            blame[peer] += _BLAME
                        return False
                    candidates[peer] = mask
                    waiting |= touching[peer]
                    if not mask & mask - 1:
                        singles.append(peer)
            candidates[cell] = digit
        if not waiting:
            return True
        rounds += 1
        if not rounds % _PAUSE:
            pause()
        # The lowest bit is the cheapest propagator that waits.
        low = waiting & -waiting
        changes = propagators[low.bit_length() - 1](candidates)
        if changes is None:
            break
        for cell, keep in changes:
            mask = candidates[cell]
            kept = mask & keep
            if kept != mask:
                if not kept:
                    break
                candidates[cell] = kept
                waiting |= touching[cell]
                if not kept & kept - 1:
                    singles.append(cell)
        else:
            waiting &= ~low
            continue
        break
    if blame:
        for cell in kernel.cells[low.bit_length() - 1]:
            blame[cell] += _BLAME
    return False
