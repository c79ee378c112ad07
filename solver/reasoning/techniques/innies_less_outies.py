"""45 rule, one house: innies and outies, and by how much they differ."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.sums import FEW, FewCells


class InniesLessOuties(FewCells):
    """Innies and outies of one house."""

    cost = 48
    wide, plus, minus = False, True, True
    sentences: ClassVar = FEW
