"""Naked triple: three cells of a house or cage with three digits between them."""

from __future__ import annotations

from cagework.solver.reasoning.subsets import NakedSubset


class NakedTriple(NakedSubset):
    """Three cells of a house or cage with three digits between them."""

    cost = 560
    cases = 3
