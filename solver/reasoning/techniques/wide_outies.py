"""45 rule, several adjoining houses: two to four open cells stick out, and what they add to."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import FEW, OUTIES, FewCells


class WideOuties(FewCells):
    """A few outies of several houses; they may repeat a digit where no house or cage forbids it."""

    cost = 550
    kind, leaves = AreaKind.HOUSES, OUTIES
    sentences: ClassVar = FEW
    question = "What can {outies} be?"
