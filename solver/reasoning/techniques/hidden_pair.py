"""Hidden pair: two digits with two cells between them in a house."""

from __future__ import annotations

from cagework.solver.reasoning.subsets import HiddenSubset


class HiddenPair(HiddenSubset):
    """Two digits with two cells between them in a house."""

    cost = 500
    cases = 2
