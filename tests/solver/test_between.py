"""What lies between two ends, beside every filling there is."""

from __future__ import annotations

import random
from itertools import product

import pytest

from cagework.solver.between import held_between, orders
from cagework.solver.combine import digits_of


@pytest.mark.parametrize("differ", [False, True])
def test_no_filling_is_lost_and_without_others_no_digit_stays(differ: bool) -> None:
    """Where cells differ nothing that a filling has goes; where they need not, just that stays."""
    rng, empty, less = random.Random(11), 0, 0
    for _ in range(400):
        inner = [rng.randrange(1, 64) for _ in range(rng.choice((1, 2, 3)))]
        masks = [rng.randrange(1, 64), rng.randrange(1, 64), *inner]
        held, ways = [0] * len(masks), set()
        for first, last, *line in product(*map(digits_of, masks)):
            low, high = sorted((first, last))
            if all(low < digit < high for digit in line) and not (differ and len(set(line)) < len(line)):
                ways.add(first < last)
                held = [mask | 1 << digit - 1 for mask, digit in zip(held, (first, last, *line), strict=True)]
        apart = [range(len(inner))] if differ else []
        kept = held_between(masks[0], masks[1], inner, apart) or (0,) * len(masks)
        assert not any(mask & ~left for mask, left in zip(held, kept, strict=True))
        assert orders(masks[0], masks[1], inner, apart) >= len(ways)
        if not differ:
            assert (list(kept), orders(masks[0], masks[1], inner)) == (held, len(ways))
        empty += not ways
        less += held != masks
    assert 20 < empty < less < 400
