"""45 rule, one house: the cages that cover it stick out by one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.sums import ONE_OUT, LoneCell


class Outie(LoneCell):
    """One cell of the cages over a house lies outside it."""

    cost = 28
    wide, inside = False, False
    question = ("{houses} {houses:adds|add} to {total}. How much more do the cages over {houses:it|them} make, "
                "and what is {cell}?")
    sentences: ClassVar = ONE_OUT
