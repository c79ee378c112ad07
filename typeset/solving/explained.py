"""A worked solution step by step, in words, each step proved where it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cagework.solver.crossing import way_of
from cagework.solver.model import Answer, Cage, Cell, Puzzle
from cagework.solver.reasoning.grade import Rating
from cagework.solver.reasoning.reason import Path, PathOutcome, Reach
from cagework.solver.step import Digits, Step
from cagework.typeset.solving.story import Chapter, Story
from cagework.typeset.solving.told import shape_in_words
from cagework.typeset.solving.worked import Worked, prover_of
from cagework.typeset.words.sentences import Sentences


@dataclass(frozen=True, slots=True)
class ExplainedStep:
    """A step of a worked solution as it is told.

    `text` is one sentence or a few; `idea` numbers the thought it belongs to, from 1; `proved` says that the step
    follows from what it names alone. What it looks at is in `step.cites`; there and in `step` itself digits are
    counted from 1, in all else as they are printed, from `least` on.
    """

    step: Step
    text: str
    chapter: Chapter
    idea: int
    proved: bool
    least: int = 1

    def __repr__(self) -> str:
        return f"ExplainedStep({self.step!r}, {self.text!r})"

    @property
    def technique(self) -> str:
        """The name of its way of reasoning, as manifests and `explain --json` have it."""
        return self.step.technique

    @property
    def places(self) -> Mapping[Cell, int]:
        """The digits it finds, by cell."""
        return {cell: self.least - 1 + digit for cell, digit in self.step.places}

    @property
    def removes(self) -> Mapping[Cell, tuple[int, ...]]:
        """The digits it strikes, by cell; those that a found digit takes from the cells it sees are not listed."""
        return {cell: tuple([self.least - 1 + digit for digit in Digits(mask)])
                for cell, mask in self.step.removes}


@dataclass(frozen=True, slots=True)
class Explanation:
    """A worked solution in words: `shape` says in a few sentences where it opens, turns and ends.

    Where the `path` does not reach the end, `steps` go as far as it does.
    """

    worked: Worked
    shape: str
    steps: tuple[ExplainedStep, ...]

    def __repr__(self) -> str:
        return f"Explanation({self.path!r}, {self.rating.grade})"

    @property
    def path(self) -> Path:
        """The path that is told."""
        return self.worked.path

    @property
    def rating(self) -> Rating:
        """Its grade with what that is made of."""
        return self.worked.rating

    @property
    def solved(self) -> bool:
        """Whether the path fills the grid."""
        return self.path.outcome is PathOutcome.SOLVED

    @property
    def answer(self) -> Answer | None:
        """The grid that it fills; None where it does not fill it."""
        return self.path.answer


def explanation(worked: Worked, sentences: Sentences, answer: Answer | None) -> Explanation:
    """A path told in the language of `sentences`; each step is proved where it stands, and what is tried held
    against the puzzle's only answer, where it has one.
    """
    prover = prover_of(worked.entry.puzzle, answer)
    sentences = sentences.about(worked.entry.puzzle, worked.entry.rules)
    board = prover.board()
    story = Story(worked.path)
    steps = []
    for stage, chapter in zip(worked.path.stages, story.chapters, strict=True):
        step = stage.step
        proved = prover.prove(board.candidates, step)
        steps.append(ExplainedStep(step, sentences.step(step), chapter, stage.idea + 1, proved,
                                   worked.entry.puzzle.least))
        board.apply(step)
    return Explanation(worked, shape_in_words(story.shape, sentences), tuple(steps))


def explained(worked: Worked, sentences: Sentences, answer: Answer | None) -> dict[str, Any]:
    """The same as `cagework explain --json` prints it."""
    told, path = explanation(worked, sentences, answer), worked.path
    return {"id": worked.entry.id, "solved": told.solved,
            "path": path.reach.value if path.reach else None, "trial": path.reach is Reach.TRIAL,
            "score": round(worked.rating.score, 1), "shape": told.shape,
            "steps": [_step_json(one, worked.entry.puzzle) for one in told.steps]}


def _step_json(told: ExplainedStep, puzzle: Puzzle) -> dict[str, Any]:
    step = told.step
    return {
        "technique": told.technique,
        "places": {str(cell): digit for cell, digit in told.places.items()},
        "removes": {str(cell): list(digits) for cell, digits in told.removes.items()},
        "cites": {
            "cells": [str(cell) for cell in step.cites.cells],
            "houses": [house.name for house in step.cites.houses],
            "cages": [_named(cage, puzzle) for cage in step.cites.cages],
        },
        "load": None if step.is_trial else step.load,
        "idea": told.idea,
        "chapter": told.chapter.value,
        "text": told.text,
        "proved": told.proved,
    }


def _named(cage: Cage, puzzle: Puzzle) -> str:
    """A cage by its first cell, a run by its way too: two may begin in one cell."""
    if not puzzle.shape:
        return str(cage.first)
    return f"{cage.first} {way_of(cage.cells)}"
