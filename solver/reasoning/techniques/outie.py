"""45 rule, one house: the cages that cover it stick out by one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import ONE_OUT, OUTIES, LoneCell


class Outie(LoneCell):
    """One cell of the cages over a house lies outside it."""

    cost = 280
    kind, leaves = AreaKind.HOUSE, OUTIES
    sentences: ClassVar = ONE_OUT
    question = ("{houses} {houses:adds|add} to {total}. How much more do the cages over {houses:it|them} make, "
                "and what is {cell}?")
