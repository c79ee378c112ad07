"""Naked quad: four cells of a house or cage with four digits between them."""

from __future__ import annotations

from cagework.solver.reasoning.subsets import NakedSubset


class NakedQuad(NakedSubset):
    """Four cells of a house or cage with four digits between them."""

    cost = 680
    cases = 4
