"""45 rule, one house: the cages that cover it stick out by one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.sums import ONE_OUT, LoneCell


class Outie(LoneCell):
    """One cell of the cages over a house lies outside it."""

    cost = 28
    wide, inside = False, False
    sentences: ClassVar = ONE_OUT
