"""45 rule, several adjoining houses: innies and outies, and by how much they differ."""

from __future__ import annotations

from typing import ClassVar

from cagework.solver.reasoning.sums import FEW, FewCells


class WideInniesLessOuties(FewCells):
    """Innies and outies of several houses."""

    cost = 58
    wide, plus, minus = True, True, True
    sentences: ClassVar = FEW
