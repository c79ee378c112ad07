"""45 rule, several adjoining houses: the cages inside them and the cells filled leave one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import INNIES, ONE_IN, LoneCell


class WideInnie(LoneCell):
    """All of several houses is known but an innie."""

    cost = 360
    kind, leaves = AreaKind.HOUSES, INNIES
    sentences: ClassVar = ONE_IN
    question = "{houses} {houses:adds|add} to {total}. What do the cages inside leave over for {cell}?"
