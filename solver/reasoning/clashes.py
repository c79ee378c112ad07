"""Why cells cannot hold the digits that ways leave them: one short reason, or two."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from cagework.solver.bitset import members
from cagework.solver.model import Cell
from cagework.solver.reasoning.filling import union_of
from cagework.solver.step import Clash, Crush, Digits

_MOST = 2
"""The most reasons that a sentence gives."""


def clashes(names: Sequence[Cell], pairs: Sequence[tuple[Mapping[int, int], int]]) -> tuple[Clash, ...]:
    """Return what keeps cells from holding sets of digits, given as (cell -> what it can hold, as many digits):
    one of these reasons is against each set; none where that takes too many, or a longer one.
    """
    against: dict[Clash, set[int]] = {}
    for number, (held, digits) in enumerate(pairs):
        for clash in _against(names, held, digits):
            against.setdefault(clash, set()).add(number)
    found: list[Clash] = []
    left = set(range(len(pairs)))
    while left:
        best = max(against, key=lambda clash: len(against[clash] & left), default=None)
        if best is None or not against[best] & left or len(found) == _MOST:
            return ()
        found.append(best)
        left -= against[best]
    bare = [clash for clash in found if clash.how is Crush.BARE]
    if len(bare) < 2:
        return tuple(found)
    return (Clash(Crush.BARE, tuple(sorted([cell for clash in bare for cell in clash.cells]))),)


def _against(names: Sequence[Cell], held: Mapping[int, int], digits: int) -> Iterator[Clash]:
    """What keeps cells from holding these digits, the plainest first."""
    kept = {cell: mask & digits for cell, mask in held.items()}
    for cell, mask in kept.items():
        if not mask:
            yield Clash(Crush.BARE, (names[cell],))
    for one, other in combinations(kept, 2):
        mask = kept[one]
        if mask and mask == kept[other] and not mask & mask - 1:
            yield Clash(Crush.ALIKE, (names[one], names[other]), Digits(mask))
            yield Clash(Crush.ALIKE, (names[one], names[other]))
    for cell in kept:
        own = digits & ~union_of(mask for other, mask in kept.items() if other != cell)
        for first, second in combinations(members(own), 2):
            if kept[cell] >> first & kept[cell] >> second & 1:
                yield Clash(Crush.ALONE, (names[cell],), Digits(1 << first | 1 << second))
                yield Clash(Crush.ALONE, (names[cell],))
