"""The worked solution of a puzzle: its path, proved step by step, and how it is cut up for the reader."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from cagework.solver.model import Answer, Cell, Puzzle
from cagework.solver.reasoning.grade import NARROW, Rating, rate
from cagework.solver.reasoning.reason import Path, PathOutcome, Reach, Stage, explain
from cagework.solver.reasoning.technique import Technique
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Digits, Step
from cagework.typeset.book import Entry
from cagework.typeset.words import technique_name

if TYPE_CHECKING:
    from cagework.solver.proving.proof import Prover
    from cagework.typeset.words.sentences import Sentences

_MOST_SINGLES, _MOST_SENTENCES = 12, 5
"""The most singles, and the most sentences before them, that a paragraph tells."""


class Wish(StrEnum):
    """What a picture of a path is to show."""

    STEPS = "steps"
    FULL_NOTES = "full notes"    # the notes of every open cell, too


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of stages `first` up to `last` (not included), taken as one thought: the grid as it stands before
    the first, with what they all rest on and all they conclude. There may be none of them: then it is the grid as
    it stands. `numbered` where the text tells several by numbers, from 1.
    """

    first: int
    last: int
    wish: Wish = Wish.STEPS
    numbered: bool = False

    def steps(self, path: Path) -> tuple[Step, ...]:
        """What it is of."""
        return tuple(stage.step for stage in path.stages[self.first:self.last])


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


@dataclass(frozen=True, slots=True)
class Passage:
    """Stages told in one paragraph, after a picture of its own, if any."""

    first: int
    last: int
    picture: Picture | None


def work_out(
    entry: Entry, seconds: float | None = None, *, techniques: Mapping[str, Technique] = TECHNIQUES,
) -> Worked:
    """Find the path of a puzzle by these techniques, and rate it; `seconds` as for `explain`."""
    path = explain(entry.puzzle, seconds=seconds, techniques=techniques)
    return Worked(entry, path, rate(path))


def explained(worked: Worked, sentences: Sentences, answer: Answer | None) -> dict[str, Any]:
    """A path as `cagework explain --json` prints it; each step is proved where it stands, and what is tried held
    against the puzzle's only answer, where it has one.
    """
    prover = _prover(worked.entry.puzzle, answer)
    board = prover.board()
    steps = []
    for stage in worked.path.stages:
        step = stage.step
        steps.append({
            "technique": step.technique,
            "places": {str(cell): digit for cell, digit in step.places},
            "removes": {str(cell): list(Digits(mask)) for cell, mask in step.removes},
            "cites": {
                "cells": [str(cell) for cell in step.cites.cells],
                "houses": [house.name for house in step.cites.houses],
                "cages": [str(cage.first) for cage in step.cites.cages],
            },
            "load": None if step.is_trial else step.load,
            "text": sentences.step(step),
            "proved": prover.prove(board.candidates, step),
        })
        board.apply(step)
    path = worked.path
    return {"id": worked.entry.id, "solved": path.outcome is PathOutcome.SOLVED,
            "path": path.reach.value if path.reach else None, "trial": path.reach is Reach.TRIAL,
            "score": round(worked.rating.score, 1), "steps": steps}


def prove(worked: Worked, answer: Answer) -> None:
    """Prove every step from what it cites, and the end by the solver's answer. Raises UnprovedError."""
    path = worked.path
    if path.outcome is not PathOutcome.SOLVED:
        raise UnprovedError(f"the worked path stops unsolved ({path.outcome})")
    bad = _prover(worked.entry.puzzle, answer).first_unproved(stage.step for stage in path.stages)
    if bad is not None:
        number = next(n for n, stage in enumerate(path.stages, 1) if stage.step is bad)
        raise UnprovedError(f"step {number} of the worked path ({technique_name(bad.technique)}) is not proved")
    if path.answer != answer:
        raise UnprovedError("the worked path ends in another grid than the solver's answer")


def _prover(puzzle: Puzzle, answer: Answer | None = None) -> Prover:
    """Loaded where something is proved: `check` only says how hard a path is."""
    from cagework.solver.proving.proof import Prover
    return Prover(puzzle, answer)


@dataclass(frozen=True, slots=True)
class Moment:
    """What is known between two stages: candidates as masks row by row, and the digits placed so far."""

    candidates: tuple[int, ...]
    placed: Mapping[Cell, int]


def moments(path: Path, before: Iterable[int] | None = None) -> Mapping[int, Moment]:
    """What is known before each of these stages, by its number; before each and, as one more, after the last
    where none are named.
    """
    wanted = set(range(len(path.stages) + 1) if before is None else before)
    board = _prover(path.puzzle).board()
    placed = {given.cell: given.digit for given in path.puzzle.givens}
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


def turning_points(path: Path) -> tuple[int, ...]:
    """The stages to draw: the costliest of each run that places as many digits as the grid has rows, where it
    costs enough to be worth a picture.
    """
    chosen: list[int] = []
    run: list[int] = []
    placed = 0
    for number, stage in enumerate(path.stages):
        run.append(number)
        placed += len(stage.step.places)
        if placed >= path.puzzle.size or number == len(path.stages) - 1:
            best = max(run, key=lambda index: (path.stages[index].step.cost, -index))
            if path.stages[best].step.cost >= NARROW:
                chosen.append(best)
            run, placed = [], 0
    return tuple(chosen)


def pictures(path: Path) -> tuple[Picture, ...]:
    """The pictures of a worked solution, in their order: one of each turning point."""
    return tuple(Picture(number, number + 1) for number in turning_points(path))


def passages(path: Path) -> tuple[Passage, ...]:
    """The path cut into paragraphs: some deductions and the placements they lead to, with a new paragraph at
    each turning point.
    """
    drawn = {picture.first: picture for picture in pictures(path)}
    found: list[Passage] = []
    for number, stage in enumerate(path.stages):
        if found and number not in drawn and _goes_on(path.stages, found[-1], stage.step):
            found[-1] = replace(found[-1], last=number + 1)
        else:
            found.append(Passage(number, number + 1, drawn.get(number)))
    return tuple(found)


def _goes_on(stages: Sequence[Stage], passage: Passage, step: Step) -> bool:
    told = [stage.step for stage in stages[passage.first:passage.last]]
    if is_single(step):
        return sum(map(is_single, told)) < _MOST_SINGLES
    sentences = 1 + sum(one.technique != other.technique or not TECHNIQUES[one.technique].lead
                        for one, other in pairwise((*told, step)))
    return not is_single(told[-1]) and sentences <= _MOST_SENTENCES


def is_single(step: Step) -> bool:
    """Whether a step is one that any reader takes without thinking."""
    return TECHNIQUES[step.technique].single
