"""A puzzle as a book carries it, and where in its file it stands: what a single puzzle needs of `book`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:       # a Place is much less than an Entry: what says where a fault lies loads no solver
    from cagework.solver.model import Puzzle
    from cagework.solver.reasoning.grade import Grade
    from cagework.solver.reasoning.reason import Reach
    from cagework.solver.rule import Rule


@dataclass(frozen=True, slots=True)
class Place:
    """A spot in a file; line and column count from 1. `source` is the line as it stands there, where known."""

    file: Path
    line: int
    column: int
    source: str = field(default="", compare=False, repr=False)


class Written(Protocol):
    """A text of the manifest, where it stands in its file."""

    def place(self, part: str = "") -> Place:
        """Where a part of the text, such as a character, first stands; else where the text begins."""


NOWHERE = Place(Path(), 0, 0)
"""No place in any file."""


def place_in(written: Mapping[str, Written], key: str, part: str, default: Place = NOWHERE) -> Place:
    """Where the text under a key stands, or a part of it; `default` where that is not known."""
    return written[key].place(part) if key in written else default


class Solutions(StrEnum):
    """How much of a worked solution is printed."""

    NONE = "none"
    KEY = "key"      # the turning points only, each with its diagram
    FULL = "full"


@dataclass(frozen=True, slots=True)
class Entry:
    """One puzzle as the book carries it. `rules` are the extra rules, for their words and their look;
    what they mean is already in `puzzle`. `grade` is what the manifest demands, until the puzzle is rated, and
    `reach`, how far its path goes, is not known until then.
    Without a `title` it goes by its number alone; `short_title` stands where the title has no room. `written` has,
    by key, where its texts stand.
    """

    id: str
    title: str | None
    by: str | None
    grade: Grade | None
    note: str | None
    puzzle: Puzzle
    rules: tuple[Rule, ...]
    place: Place
    solutions: Solutions = Solutions.NONE
    reach: Reach | None = None
    written: Mapping[str, Written] = field(default_factory=dict, compare=False, repr=False)
    short_title: str | None = None

    def __repr__(self) -> str:
        return f"Entry({self.id!r}, {self.title!r}, {self.puzzle!r})"

    def place_of(self, key: str, part: str = "") -> Place:
        """Where the text under a key stands, or a part of it; the puzzle's own place where that is not known."""
        return place_in(self.written, key, part, self.place)
