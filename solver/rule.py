"""The one contract an extra rule fulfils: its meaning, its lowering, its words and its look.

A rule is one file in `solver/rules/`; the file's name is the name an editor writes in a manifest.
`allows` states the meaning in the most naive way there is; `facts` lowers it to what the search
knows; a conformance test enumerates small grids and requires the two to agree.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import ClassVar, Literal

from cagework.solver.errors import PuzzleError
from cagework.solver.figure import Figure
from cagework.solver.model import Between, Cell, Domain, House, LeastDigit, Pair, Puzzle, Sum

Fact = House | Pair | Sum | Domain | Between | LeastDigit
"""What a rule may be lowered to."""


def with_facts(puzzle: Puzzle, facts: Iterable[Fact]) -> Puzzle:
    """Return the puzzle with these facts, too, in their order."""
    facts = tuple(facts)
    return replace(
        puzzle,
        houses=(*puzzle.houses, *(fact for fact in facts if isinstance(fact, House))),
        pairs=(*puzzle.pairs, *(fact for fact in facts if isinstance(fact, Pair))),
        sums=(*puzzle.sums, *(fact for fact in facts if isinstance(fact, Sum))),
        domains=(*puzzle.domains, *(fact for fact in facts if isinstance(fact, Domain))),
        betweens=(*puzzle.betweens, *(fact for fact in facts if isinstance(fact, Between))),
        least=next((fact.digit for fact in facts if isinstance(fact, LeastDigit)), puzzle.least),
    )


class Takes(StrEnum):
    """What an editor writes beside a rule's name. Several of a kind are as many rules."""

    NOTHING = "nothing"
    CELLS = "cells"          # one or more, whose order means nothing
    LINE = "a line"          # two or more in order, each touching the next by edge or corner
    BESIDE = "cells side by side"    # two or more in order, each sharing a side with the next
    CAGES = "cells of cages side by side"   # two or more in order, each sharing a side with the next
    ACROSS = "a line across regions"    # a line; the region of each cell is known
    DIAGONAL = "the ends of a diagonal with a number"   # where the number stands, then the other
    NUMBERED = "cells with a number"

    @property
    def in_order(self) -> bool:
        """Whether the order of the cells means something."""
        return self in (Takes.LINE, Takes.BESIDE, Takes.CAGES, Takes.ACROSS, Takes.DIAGONAL)

    @property
    def beside(self) -> bool:
        """Whether each cell shares a side with the next."""
        return self in (Takes.BESIDE, Takes.CAGES)

    @property
    def numbered(self) -> bool:
        """Whether a number stands with the cells."""
        return self in (Takes.NUMBERED, Takes.DIAGONAL)

    @property
    def in_areas(self) -> bool:
        """Whether it matters which cage or region each cell is in."""
        return self in (Takes.CAGES, Takes.ACROSS)


@dataclass(frozen=True, slots=True)
class Named:
    """What was written beside a rule's name: cells (by row and column where order means nothing), a number; and,
    where it is on cages or across regions, the cells of the cage or region of each, and of cages their sums.

    What a rule means does not go by these `sums`, which may be changed; it may refuse what they contradict.
    """

    cells: tuple[Cell, ...]
    number: int | None = None
    areas: tuple[tuple[Cell, ...], ...] = ()
    sums: tuple[int | None, ...] = ()


class RuleError(PuzzleError):
    """A rule cannot apply as written. The text is for the editor; `hint` is the way out.

    `at` is the cell at fault, or the number; None where it is all that was written.
    """

    def __init__(self, message: str, hint: str = "", at: Cell | Literal["number"] | None = None) -> None:
        super().__init__(message)
        self.hint = hint
        self.at = at


@dataclass(frozen=True, slots=True)
class Rule(ABC):
    """An extra rule on a grid of `size` x `size` cells, whose digits run from `least` on.

    `sentence` states it for the reader of a book, for any size, with `{least}` and `{most}` for the least and the
    greatest digit; `by` is what worked solutions call it that say something by its facts other than houses.
    """

    size: int
    least: int = field(default=1, kw_only=True)
    sentence: ClassVar[str]
    by: ClassVar[str] = "by the puzzle’s own rule"
    takes: ClassVar[Takes] = Takes.NOTHING

    @property
    def digits(self) -> range:
        """The digits of the puzzle, as they are printed."""
        return range(self.least, self.least + self.size)

    @classmethod
    def of(cls, size: int, value: Named | None, least: int = 1) -> Rule:
        """The rule as the manifest says it, in a puzzle whose digits run from `least`. Raises RuleError."""
        read = cls.read(size, value)
        rule = replace(read, least=min(read.least, least))
        rule.check()
        return rule

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """Make the rule from what the manifest says beside its name; None where it says nothing.

        Raises RuleError where the rule cannot apply to this size or takes no such value.
        """
        if value is not None:
            raise RuleError("this rule takes no value", "write its name alone")
        return cls(size)

    def check(self) -> None:  # noqa: B027 - most rules have nothing to check
        """Raise RuleError where no digits of this puzzle can do what is written."""

    @classmethod
    def example(cls, size: int) -> Named | None:
        """What may stand beside the name on a grid of this size; None for a rule that takes nothing."""
        return None

    @classmethod
    def exemplar(cls, size: int, least: int = 1) -> Rule:
        """The rule on its example. Raises RuleError where it cannot apply to this size; 9 always works."""
        return cls.of(size, cls.example(size), least)

    @abstractmethod
    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """Whether a completed grid obeys the rule."""

    @abstractmethod
    def facts(self) -> tuple[Fact, ...]:
        """The facts that say the same."""

    def figures(self) -> tuple[Figure, ...]:
        """How the rule shows on the grid; nothing where only words state it."""
        return ()


@dataclass(frozen=True, slots=True)
class RuleOnCells(Rule):
    """An extra rule on cells that the editor names, all of them on the grid; it states what it `takes`.

    Its sentence may also have `{cells}` and `{number}`: all that its figures do not show has to be said. A house
    of its own is named by a word and a cell (`group r1c1`), as there may be several.
    """

    named: Named

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        """Make the rule; one that asks more of its cells raises RuleError with the cell or number at fault."""
        if value is None:
            raise RuleError(f"this rule needs {cls.takes}", "write them beside its name")
        return cls(size, value)

    @classmethod
    @abstractmethod
    def example(cls, size: int) -> Named:
        """What may stand beside the name on a grid of this size."""
