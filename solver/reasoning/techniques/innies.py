"""45 rule, one house: two to four open cells and what they add to."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import FEW, INNIES, FewCells


class Innies(FewCells):
    """A few innies of one house."""

    cost = 420
    simple = True
    kind, leaves = AreaKind.HOUSE, INNIES
    sentences: ClassVar = FEW
    question = "What can {innies} be?"
