"""Hidden quad: four digits with four cells between them in a house."""

from __future__ import annotations

from cagework.solver.reasoning.subsets import HiddenSubset


class HiddenQuad(HiddenSubset):
    """Four digits with four cells between them in a house."""

    cost = 740
    cases = 4
