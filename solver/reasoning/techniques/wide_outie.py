"""45 rule, several adjoining houses: the cages that cover them stick out by one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import ONE_OUT, OUTIES, LoneCell


class WideOutie(LoneCell):
    """One cell of the cages over several houses lies outside them."""

    cost = 390
    kind, leaves = AreaKind.HOUSES, OUTIES
    sentences: ClassVar = ONE_OUT
    question = ("{houses} {houses:adds|add} to {total}. How much more do the cages over {houses:it|them} make, "
                "and what is {cell}?")
