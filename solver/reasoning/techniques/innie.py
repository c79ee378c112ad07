"""45 rule, one house: the cages inside it and the cells filled leave one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import INNIES, ONE_IN, LoneCell


class Innie(LoneCell):
    """All of one house is known but an innie."""

    cost = 240
    kind, leaves = AreaKind.HOUSE, INNIES
    sentences: ClassVar = ONE_IN
    question = "{houses} {houses:adds|add} to {total}. What do the cages inside leave over for {cell}?"
