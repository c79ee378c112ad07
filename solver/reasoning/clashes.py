"""Why cells cannot hold the digits that ways leave them: one short reason, or two."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from cagework.solver.bitset import members
from cagework.solver.model import Cell
from cagework.solver.reasoning.filling import union_of
from cagework.solver.step import Clash, Crush, Digits

_MOST = 2
"""The most reasons that a sentence gives."""


def clashes(names: Sequence[Cell], pairs: Sequence[tuple[Mapping[int, int], int]]) -> tuple[Clash, ...]:
    """Return what keeps cells from holding sets of digits, given as (cell -> what it can hold, as many digits):
    one of these reasons is against each set; none where that takes too many, or a longer one. Digits that need one
    cell, other ones in each set, are as many reasons, one after another.
    """
    against: dict[Clash, set[int]] = {}
    for number, (held, digits) in enumerate(pairs):
        for clash in _against(names, held, digits):
            against.setdefault(clash, set()).add(number)
    found: dict[Clash, list[int]] = {}
    left = set(range(len(pairs)))
    while left:
        best = max(against, key=lambda clash: len(against[clash] & left), default=None)
        if best is None or not against[best] & left or len(found) == _MOST:
            return ()
        found[best] = sorted(against[best] & left)
        left -= against[best]
    bare = [clash for clash in found if clash.how is Crush.BARE]
    if len(bare) < 2:
        return tuple(dict.fromkeys(own for clash, numbers in found.items()
                                   for own in _by_digits(names, clash, [pairs[number] for number in numbers])))
    return (Clash(Crush.BARE, tuple(sorted([cell for clash in bare for cell in clash.cells]))),)


def clash_of_each(names: Sequence[Cell], held: Mapping[int, int], ways: Iterable[int]) -> tuple[Clash, ...]:
    """Return what keeps cells from holding each of these sets of digits, by as few cells as will do, near enough;
    none where that takes too many, or a longer reason.
    """
    against = [[clash for clash in _against(names, held, way) if clash.digits or clash.how is Crush.BARE]
               for way in ways]
    counts = Counter(clash for found in against for clash in found)
    chosen = [max(found, key=lambda clash: counts[clash], default=None) for found in against]
    each = tuple([clash for clash in chosen if clash])
    return each if len(each) == len(chosen) and len(set(each)) <= _MOST else ()


def _by_digits(
    names: Sequence[Cell], clash: Clash, pairs: Iterable[tuple[Mapping[int, int], int]],
) -> Iterable[Clash]:
    """A reason as it is against each set: with the digits that need one cell."""
    if clash.how is not Crush.ALONE or clash.digits:
        return (clash,)
    return [next(own for own in _against(names, *pair) if own.digits and replace(own, digits=Digits(0)) == clash)
            for pair in pairs]


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
