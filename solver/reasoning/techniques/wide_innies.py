"""45 rule, several adjoining houses: two to four open cells and what they add to."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.sums import FEW, FewCells


class WideInnies(FewCells):
    """A few innies of several houses."""

    cost = 52
    question = "What can {innies} be?"
    wide, plus = True, True
    sentences: ClassVar = FEW
