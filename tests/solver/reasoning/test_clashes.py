"""Why cells cannot hold digits, against every way to put these into them."""

from __future__ import annotations

import random
from itertools import permutations

from cagework.solver.model import Cell
from cagework.solver.reasoning.clashes import clashes
from cagework.solver.step import Clash, Crush, Digits

NAMES = tuple([Cell(1, col) for col in range(1, 10)])


def fit(held: dict[int, int], digits: int) -> bool:
    """Whether the cells can hold the digits, by trying every order."""
    return any(all(mask >> digit - 1 & 1 for mask, digit in zip(held.values(), order, strict=True))
               for order in permutations(Digits(digits)))


def is_so(clash: Clash, held: dict[int, int], digits: int) -> bool:
    """Whether a reason is true of cells and digits, word for word."""
    kept = {NAMES[cell]: mask & digits for cell, mask in held.items()}
    named = [kept[cell] for cell in clash.cells]
    match clash.how:
        case Crush.BARE:
            return 0 in named
        case Crush.ALIKE:
            return len(named) == 2 and named[0] == named[1] and named[0].bit_count() == 1 and (
                clash.digits.mask in (0, named[0]))
    others = [mask for cell, mask in kept.items() if cell not in clash.cells]
    alone = [digit for digit in Digits(digits) if not any(mask >> digit - 1 & 1 for mask in others)]
    return len(alone) > 1 and set(clash.digits) <= set(alone) and len(clash.digits) in (0, 2)


def test_a_reason_is_so_and_is_given_where_up_to_four_cells_cannot_hold_one_set_of_digits() -> None:
    """By Hall's theorem: of up to four cells one holds nothing, or two the same, or two digits need one cell."""
    chance = random.Random(7)
    asked = refused = together = 0
    for _ in range(3000):
        count = chance.randint(2, 4)
        pairs = []
        held = {cell: chance.randint(1, 511) & chance.randint(1, 511) for cell in range(count)}
        for _ in range(chance.randint(1, 2)):
            digits = sum(1 << index for index in chance.sample(range(9), count))
            if all(any(mask >> digit - 1 & 1 for mask in held.values()) for digit in Digits(digits)):
                pairs.append((held, digits))
        if not pairs:
            continue
        found = clashes(NAMES, pairs)
        fits = [fit(*pair) for pair in pairs]
        assert not (found and any(fits))
        assert found or any(fits) or len(pairs) > 1
        assert all(any(is_so(clash, *pair) for clash in found) for pair in pairs if found)
        asked, refused, together = asked + 1, refused + any(fits), together + (len(found) > 0 and len(pairs) > 1)
    assert asked > 400 and refused > 100 and together > 20
