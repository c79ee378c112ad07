"""Crossing sums: the runs across of an area and the runs down there leave two to four cells."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import FEW, INNIES, INNIES_AND_OUTIES, OUTIES, FewCells


class AreaCells(FewCells):
    """What a few cells make, or those left over less those that stick out."""

    cost = 530
    kind, leaves = AreaKind.RUNS, INNIES | OUTIES | INNIES_AND_OUTIES
    sentences: ClassVar = FEW
