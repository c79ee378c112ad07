"""Combinations against mathematics.

The number of k-element subsets of {1..n} with sum s is the coefficient of q^(s - k(k+1)/2) in the Gaussian
binomial [n choose k]_q (Andrews, The Theory of Partitions, ch. 3).
"""

from __future__ import annotations

from functools import reduce
from itertools import combinations as subsets
from math import comb

import pytest

from cagework.solver.combine import combinations, combinations_within, digits_of, mask_of, sum_range
from cagework.solver.model import BOXES

SIZES = sorted(BOXES)


def gaussian_binomial(n: int, k: int) -> list[int]:
    """Coefficients of [n choose k]_q by [n, k] = [n-1, k-1] + q^k [n-1, k]."""
    if k in (0, n):
        return [1]
    left, right = gaussian_binomial(n - 1, k - 1), [0] * k + gaussian_binomial(n - 1, k)
    width = max(len(left), len(right))
    return [sum(part[i] for part in (left, right) if i < len(part)) for i in range(width)]


def feasible(size: int) -> list[tuple[int, ...]]:
    """The combinations of every (count, total) that has any."""
    found = []
    for count in range(1, size + 1):
        least, most = sum_range(size, count)
        found += [combinations(size, count, total) for total in range(least, most + 1)]
    return [masks for masks in found if masks]


@pytest.mark.parametrize("size", [4, 6, 8, 9, 10, 12])
def test_counts_are_gaussian_coefficients(size: int) -> None:
    for count in range(1, size + 1):
        least, most = sum_range(size, count)
        counts = [len(combinations(size, count, total)) for total in range(least, most + 1)]
        assert counts == gaussian_binomial(size, count)
        assert sum(counts) == comb(size, count)
        assert combinations(size, count, least - 1) == combinations(size, count, most + 1) == ()


def test_sixteen_digits() -> None:
    for count in (1, 2, 5, 8, 16):
        least, most = sum_range(16, count)
        counts = [len(combinations(16, count, total)) for total in range(least, most + 1)]
        assert counts == gaussian_binomial(16, count)


def test_nine_digits_in_figures() -> None:
    """Counted once by another program."""
    masks = feasible(9)
    assert len(masks) == 129
    assert sum(len(each) == 1 for each in masks) == 43
    assert sum(reduce(int.__and__, each) != 0 for each in masks) == 74
    assert sum(reduce(int.__or__, each) != 511 for each in masks) == 73
    assert sum(map(len, masks)) == 2**9 - 1


@pytest.mark.parametrize("size", [4, 6, 8, 9, 10, 12])
def test_feasible_pairs(size: int) -> None:
    """n + (n^3 - n)/6 feasible pairs, 6n - 11 with one combination: fitted for these sizes, not proved."""
    masks = feasible(size)
    assert len(masks) == size + (size**3 - size) // 6
    assert sum(len(each) == 1 for each in masks) == 6 * size - 11


def test_facts_of_the_trade() -> None:
    """Common practice."""
    def words(count: int, total: int) -> set[str]:
        return {"".join(map(str, digits_of(mask))) for mask in combinations(9, count, total)}

    assert words(2, 17) == {"89"}
    assert words(3, 24) == {"789"}
    assert words(4, 30) == {"6789"}
    assert words(6, 22) == {"123457"}
    assert words(4, 12) == {"1236", "1245"}
    assert words(2, 10) == {"19", "28", "37", "46"}
    assert sum_range(9, 5)[1] == 35
    assert sum_range(9, 9) == (45, 45)
    for total in range(*sum_range(9, 8)):
        (mask,) = combinations(9, 8, total)
        assert digits_of(511 ^ mask) == (45 - total,)


def test_within_candidates() -> None:
    """Against a plain enumeration of subsets."""
    for digits in ((1, 2, 4, 8, 9), (3, 5, 6, 7), (1,), (2, 9), (1, 2, 3, 4, 5, 6, 7, 8, 9)):
        for count in range(len(digits) + 2):
            for total in range(46):
                plain = [mask_of(each) for each in subsets(digits, count) if sum(each) == total]
                assert list(combinations_within(mask_of(digits), count, total)) == plain


@pytest.mark.parametrize("count", [-1, 10])
def test_too_many_digits(count: int) -> None:
    with pytest.raises(ValueError, match="distinct digits from 1 to 9"):
        sum_range(9, count)
