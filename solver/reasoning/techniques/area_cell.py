"""Crossing sums: the runs across of an area and the runs down there leave one cell."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.frame import AreaKind
from cagework.solver.reasoning.sums import INNIES, ONE_IN, ONE_OUT, OUTIES, LoneCell


class AreaCell(LoneCell):
    """Runs of one way cover those of the other but for a cell, or stick out of them by one."""

    cost = 410
    simple = False
    kind, leaves = AreaKind.RUNS, INNIES | OUTIES
    sentences: ClassVar = {**ONE_IN, **ONE_OUT}
