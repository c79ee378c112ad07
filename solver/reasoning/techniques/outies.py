"""45 rule, one house: two to four open cells stick out of it, and what they add to."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import FEW, OUTIES, FewCells


class Outies(FewCells):
    """A few outies of one house; they may repeat a digit where no house or cage forbids it."""

    cost = 460
    kind, leaves = AreaKind.HOUSE, OUTIES
    sentences: ClassVar = FEW
    question = "What can {outies} be?"
