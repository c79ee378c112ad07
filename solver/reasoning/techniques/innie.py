"""45 rule, one house: the cages inside it and the cells filled leave one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.sums import ONE_IN, LoneCell


class Innie(LoneCell):
    """All of one house is known but an innie."""

    cost = 24
    wide, inside = False, True
    question = "{houses} {houses:adds|add} to {total}. What do the cages inside leave over for {cell}?"
    sentences: ClassVar = ONE_IN
