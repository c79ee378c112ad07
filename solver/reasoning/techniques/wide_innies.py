"""45 rule, several adjoining houses: two to four open cells and what they add to."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import FEW, INNIES, FewCells


class WideInnies(FewCells):
    """A few innies of several houses."""

    cost = 520
    kind, leaves = AreaKind.HOUSES, INNIES
    sentences: ClassVar = FEW
    question = "What can {innies} be?"
