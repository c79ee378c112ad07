"""Hidden triple: three digits with three cells between them in a house."""

from __future__ import annotations

from cagework.solver.reasoning.subsets import HiddenSubset


class HiddenTriple(HiddenSubset):
    """Three digits with three cells between them in a house."""

    cost = 640
    cases = 3
