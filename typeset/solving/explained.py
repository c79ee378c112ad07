"""A worked solution as data, each step proved where it stands."""

from __future__ import annotations

from typing import Any

from cagework.solver.crossing import way_of
from cagework.solver.model import Answer, Cage, Puzzle
from cagework.solver.reasoning.reason import PathOutcome, Reach
from cagework.solver.step import Digits
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.told import shape_in_words
from cagework.typeset.solving.worked import Worked, prover_of
from cagework.typeset.words.sentences import Sentences


def explained(worked: Worked, sentences: Sentences, answer: Answer | None) -> dict[str, Any]:
    """A path as `cagework explain --json` prints it; each step is proved where it stands, and what is tried held
    against the puzzle's only answer, where it has one.
    """
    prover = prover_of(worked.entry.puzzle, answer)
    sentences = sentences.about(worked.entry.puzzle, worked.entry.rules)
    board = prover.board()
    story = Story(worked.path)
    steps, before = [], worked.entry.puzzle.least - 1
    for stage, chapter in zip(worked.path.stages, story.chapters, strict=True):
        step = stage.step
        steps.append({
            "technique": step.technique,
            "places": {str(cell): before + digit for cell, digit in step.places},
            "removes": {str(cell): [before + digit for digit in Digits(mask)] for cell, mask in step.removes},
            "cites": {
                "cells": [str(cell) for cell in step.cites.cells],
                "houses": [house.name for house in step.cites.houses],
                "cages": [_named(cage, worked.entry.puzzle) for cage in step.cites.cages],
            },
            "load": None if step.is_trial else step.load,
            "idea": stage.idea + 1,
            "chapter": chapter.value,
            "text": sentences.step(step),
            "proved": prover.prove(board.candidates, step),
        })
        board.apply(step)
    path = worked.path
    return {"id": worked.entry.id, "solved": path.outcome is PathOutcome.SOLVED,
            "path": path.reach.value if path.reach else None, "trial": path.reach is Reach.TRIAL,
            "score": round(worked.rating.score, 1), "shape": shape_in_words(story.shape, sentences),
            "steps": steps}


def _named(cage: Cage, puzzle: Puzzle) -> str:
    """A cage by its first cell, a run by its way too: two may begin in one cell."""
    if not puzzle.shape:
        return str(cage.first)
    return f"{cage.first} {way_of(cage.cells)}"
