"""Digits that run from 0, where they else run from 1 (common practice)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from cagework.solver.model import Cell, LeastDigit
from cagework.solver.rule import Named, Rule

_ZERO = 0


@dataclass(frozen=True, slots=True)
class FromZero(Rule):
    """There are as many digits as else, each one less."""

    sentence: ClassVar[str] = "The digits run from {least} to {most}."

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """It says itself which digit is the least."""
        return replace(super(FromZero, cls).read(size, value), least=_ZERO)

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As that says."""
        return set(digits.values()) <= set(self.digits)

    def facts(self) -> tuple[LeastDigit]:
        """Where they begin."""
        return (LeastDigit(_ZERO),)
