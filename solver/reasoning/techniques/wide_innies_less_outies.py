"""45 rule, several adjoining houses: innies and outies, and by how much they differ."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import FEW, INNIES_AND_OUTIES, FewCells


class WideInniesLessOuties(FewCells):
    """Innies and outies of several houses."""

    cost = 580
    kind, leaves = AreaKind.HOUSES, INNIES_AND_OUTIES
    sentences: ClassVar = FEW
