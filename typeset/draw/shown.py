"""What a grid on a page is of: how the finished file's read-back knows which puzzle should stand there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cagework.solver.model import Answer, Puzzle
from cagework.solver.rule import Rule
from cagework.typeset.solving.story import Picture
from cagework.typeset.solving.worked import Worked


class GridKind(StrEnum):
    """What of a puzzle a grid shows."""

    PUZZLE = "puzzle"
    ANSWER = "answer"
    STAGE = "diagram"     # a moment of a worked path


@dataclass(frozen=True, slots=True)
class Shown:
    """The grid of one puzzle, its answer, or a picture of its path.

    An example, which is no puzzle of the book, brings what it is to be read against: its `answer` and its `rules`.
    A `turned` one is upside down.
    """

    kind: GridKind
    id: str
    puzzle: Puzzle
    worked: Worked | None = None
    picture: Picture | None = None
    answer: Answer | None = None
    in_book: bool = True
    turned: bool = False
    rules: tuple[Rule, ...] = ()
