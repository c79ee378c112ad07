"""What the desk has processes of its own do: a verdict at once, a thorough look, a search for another grade."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import Any

from cagework.solver.model import Answer, Cell, Given, Puzzle
from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.reasoning.reason import explain
from cagework.solver.search.exact import Outcome, Verdict, solve
from cagework.solver.search.kernel import lower
from cagework.solver.search.propagate import propagate
from cagework.typeset.entry import Entry
from cagework.typeset.manifest.drawn import Drawing
from cagework.typeset.manifest.keyed import reads_so, redrawn
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.solving.check import Checked, judged
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.diagnose import diagnose
from cagework.typeset.solving.edited import edit_in_words
from cagework.typeset.solving.explained import explained
from cagework.typeset.solving.record import Result
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.told import headings
from cagework.typeset.solving.tuning import Wish, tuned
from cagework.typeset.solving.worked import Worked
from cagework.typeset.words import load_words, technique_name
from cagework.typeset.words.sentences import Sentences

JUDGING, STUDYING = 0.4, 6.0
"""Seconds of search, at the most: while somebody draws, and when they look closer."""


NOTHING_FOUND: Mapping[str, Any] = MappingProxyType({
    "lines": [], "conflict": [], "region": {}, "repairs": [], "steps": [], "grade": None, "score": None,
    "hardest": None, "path": None, "shape": None})
"""A study that says nothing."""


@dataclass(frozen=True, slots=True)
class Quick:
    """A verdict, and what each cell can hold by what is seen at once, as masks; nothing where that contradicts
    itself.
    """

    verdict: Verdict
    candidates: Mapping[Cell, int]


def quick(puzzle: Puzzle, near: Answer | None = None) -> Quick:
    """What is known of a puzzle at once; `near` is an answer that somebody thinks it has."""
    kernel = lower(puzzle)
    grid = propagate(kernel, kernel.grid, None) if kernel.possible else -1
    fields, full = kernel.ground.fields, (1 << puzzle.size) - 1
    held = {} if grid < 0 else {
        cell: grid >> number * fields.width & full for number, cell in enumerate(puzzle.cells)}
    return Quick(solve(puzzle, seconds=JUDGING, near=near), held)


def study(entry: Entry, setter: Mapping[Cell, int]) -> dict[str, Any]:
    """Why a puzzle is not sound, with repairs, or its path in words; as `check --why` and `explain` have them.
    `setter` has the digits of the answer beside it, as far as it is written.
    """
    meant = tuple((Given(cell, digit), entry.place) for cell, digit in setter.items())
    reading = PuzzleReading(entry.id, entry.place.file, entry.place, entry, (), setters=meant)
    verdict = solve(entry.puzzle, seconds=STUDYING)
    path = explain(entry.puzzle, seconds=STUDYING) if verdict.outcome is Outcome.SOUND else None
    one = judged(reading, Result(verdict, 0.0, path))
    found = diagnose(one, None, STUDYING)
    said = dict(NOTHING_FOUND)
    if found is not None:
        said |= {"lines": list(found.lines), **found.data}
    return said | _path(one, verdict)


def _path(one: Checked, verdict: Verdict) -> dict[str, Any]:
    worked: Worked | None = one.worked
    if worked is None:
        return {}
    told = explained(worked, Sentences("en"), verdict.answer)
    chapters, rating = headings(Story(worked.path), load_words("en")), rate(worked.path)
    return {
        "grade": one.grade, "score": one.score, "path": one.reach, "shape": told["shape"],
        "hardest": technique_name(rating.technique) if rating.technique else "",
        "steps": [{"technique": technique_name(step["technique"]), "text": step["text"],
                   "chapter": chapters[step["chapter"]], "places": step["places"], "removes": step["removes"]}
                  for step in told["steps"]]}


@dataclass(frozen=True, slots=True)
class Offer:
    """A drawing of the grade wanted, and by which changes, in words; its score, and its hardest technique."""

    changes: tuple[str, ...]
    drawing: Drawing
    score: float
    hardest: str


def tune(entry: Entry, drawing: Drawing, grade: Grade) -> tuple[Offer, ...]:
    """The smallest changes that give a sound puzzle a grade, best first, as the command `tune` has them: each
    proved to leave its answer alone. Nothing for a puzzle that is not sound or whose path is not found.
    """
    verdict = solve(entry.puzzle, seconds=STUDYING)
    path = explain(entry.puzzle, seconds=STUDYING) if verdict.outcome is Outcome.SOUND else None
    if path is None or verdict.answer is None:
        return ()
    with Crew() as crew:
        found = tuned(entry.puzzle, verdict.answer, path, Wish(grade), crew, STUDYING,
                      fits=partial(reads_so, drawing))
    stated = grade.value if drawing.grade else None
    return tuple(Offer(
        tuple(map(edit_in_words, one.edits)), replace(redrawn(drawing, one.puzzle), grade=stated),
        one.rating.score, technique_name(one.rating.technique) if one.rating.technique else "") for one in found)
