"""The worked solution of a puzzle: its path, proved step by step, and what is known at each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cagework.solver.model import Answer, Cell, Puzzle, counted
from cagework.solver.reasoning.grade import Rating, rate
from cagework.solver.reasoning.reason import Path, PathOutcome, explain
from cagework.solver.reasoning.technique import Technique
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.typeset.entry import Entry
from cagework.typeset.words import technique_name

if TYPE_CHECKING:
    from cagework.solver.proving.proof import Prover


class UnprovedError(Exception):
    """A worked solution that may not be printed. The text says which step, or that the end is wrong."""


@dataclass(frozen=True, slots=True)
class Worked:
    """A puzzle's path and rating."""

    entry: Entry
    path: Path
    rating: Rating


@dataclass(frozen=True, slots=True)
class Example:
    """A puzzle worked as far as the stage it is an example of, and its answer."""

    worked: Worked
    answer: Answer

    @property
    def stage(self) -> int:
        """The number of that stage, the last of the path."""
        return len(self.worked.path.stages) - 1


def work_out(
    entry: Entry, seconds: float | None = None, *, techniques: Mapping[str, Technique] = TECHNIQUES,
) -> Worked:
    """Find the path of a puzzle by these techniques, and rate it; `seconds` as for `explain`."""
    path = explain(entry.puzzle, seconds=seconds, techniques=techniques)
    return Worked(entry, path, rate(path))


def prove(worked: Worked, answer: Answer) -> None:
    """Prove every step from what it cites, and the end by the solver's answer. Raises UnprovedError."""
    path = worked.path
    if path.outcome is not PathOutcome.SOLVED:
        raise UnprovedError(f"the worked path stops unsolved ({path.outcome})")
    bad = prover_of(worked.entry.puzzle, answer).first_unproved(stage.step for stage in path.stages)
    if bad is not None:
        number = next(n for n, stage in enumerate(path.stages, 1) if stage.step is bad)
        raise UnprovedError(f"step {number} of the worked path ({technique_name(bad.technique)}) is not proved")
    if path.answer != answer:
        raise UnprovedError("the worked path ends in another grid than the solver's answer")


def prover_of(puzzle: Puzzle, answer: Answer | None = None) -> Prover:
    """Loaded where something is proved: `check` only says how hard a path is."""
    from cagework.solver.proving.proof import Prover
    return Prover(puzzle, answer)


@dataclass(frozen=True, slots=True)
class Moment:
    """What is known between two stages: candidates as masks row by row, and the digits placed so far, counted
    from 1."""

    candidates: tuple[int, ...]
    placed: Mapping[Cell, int]


def moments(path: Path, before: Iterable[int] | None = None) -> Mapping[int, Moment]:
    """What is known before each of these stages, by its number; before each and, as one more, after the last
    where none are named.
    """
    wanted = set(range(len(path.stages) + 1) if before is None else before)
    board = prover_of(path.puzzle).board()
    placed = {given.cell: given.digit for given in counted(path.puzzle).givens}
    found: dict[int, Moment] = {}
    for number, stage in enumerate((*path.stages, None)):
        if number in wanted:
            found[number] = Moment(tuple(board.candidates), dict(placed))
        if len(found) == len(wanted):
            break
        if stage is not None:
            board.apply(stage.step)
            placed.update(stage.step.places)
    return found
