"""45 rule, one house: two to four open cells stick out of it, and what they add to."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.sums import FEW, FewCells


class Outies(FewCells):
    """A few outies of one house; they may repeat a digit where no house or cage forbids it."""

    cost = 46
    question = "What can {outies} be?"
    wide, minus = False, True
    sentences: ClassVar = FEW
