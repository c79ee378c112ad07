"""45 rule, one house: innies and outies, and by how much they differ."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import FEW, INNIES_AND_OUTIES, FewCells


class InniesLessOuties(FewCells):
    """Innies and outies of one house."""

    cost = 480
    kind, leaves = AreaKind.HOUSE, INNIES_AND_OUTIES
    sentences: ClassVar = FEW
