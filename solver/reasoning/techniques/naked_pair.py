"""Naked pair: two cells of a house or cage with two digits between them."""

from __future__ import annotations

from cagework.solver.reasoning.subsets import NakedSubset


class NakedPair(NakedSubset):
    """Two cells of a house or cage with two digits between them."""

    cost = 440
    cases = 2
