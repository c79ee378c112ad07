"""The one contract an extra rule fulfils: its meaning, its lowering, its words and its look.

A rule is one file in `solver/rules/`; the file's name is the name an editor writes in a manifest.
`allows` states the meaning in the most naive way there is; `facts` lowers it to what the search
knows; a conformance test enumerates small grids and requires the two to agree.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from cagework.solver.figure import Figure
from cagework.solver.model import Cell, House, Pair

Fact = House | Pair
"""What a rule may be lowered to."""


class RuleError(ValueError):
    """A rule cannot apply as written. The text is for the editor; `hint` is the way out."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.hint = hint


@dataclass(frozen=True, slots=True)
class Rule(ABC):
    """An extra rule on a grid of `size` x `size` cells.

    `sentence` states it for the reader of a book, for any size, with `{size}` for the greatest digit.
    """

    size: int
    sentence: ClassVar[str]

    @classmethod
    def read(cls, size: int, value: object) -> Rule:
        """Make the rule from what the manifest says beside its name; None where it says nothing.

        Raises RuleError where the rule cannot apply to this size or takes no such value.
        """
        if value is not None:
            raise RuleError("this rule takes no value", "write its name alone")
        return cls(size)

    @abstractmethod
    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Whether a completed grid obeys the rule."""

    @abstractmethod
    def facts(self) -> tuple[Fact, ...]:
        """The houses and pairs that say the same."""

    def figures(self) -> tuple[Figure, ...]:
        """How the rule shows on the grid; nothing where only words state it."""
        return ()
