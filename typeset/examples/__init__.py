"""A small puzzle of our own for each technique, beside this module: what the primer draws.

Beside the puzzle stand the stages that lead to where the technique is needed, found once by
`python -m cagework.typeset.examples` and proved again whenever they are read.
"""

from __future__ import annotations

import functools
import json
from importlib.resources import as_file, files

from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import rate
from cagework.solver.reasoning.reason import Path, PathOutcome
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.entry import Entry
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.worked import Example, Worked
from cagework.typeset.solving.written import read


@functools.cache
def worked_example(technique: str) -> Example | None:
    """A puzzle worked as far as its first stage by this technique; None where there is no example.

    ValueError where the puzzle is not sound or a stage is not proved.
    """
    entry, file = example_entry(technique), files(__name__) / f"{technique}.json"
    if entry is None or not file.is_file():
        return None
    stages = read(json.loads(file.read_text(encoding="utf-8")), entry.puzzle)
    verdict = solve(entry.puzzle)
    if verdict.outcome is not Outcome.SOUND or verdict.answer is None:
        raise ValueError(f"the example of {technique} is not sound")
    if Prover(entry.puzzle).first_unproved(stage.step for stage in stages) is not None:
        raise ValueError(f"the example of {technique} is not proved")
    path = Path(entry.puzzle, stages, PathOutcome.OUT_OF_BUDGET, None, len(stages))
    return Example(Worked(entry, path, rate(path)), verdict.answer)


def example_entry(technique: str) -> Entry | None:
    """The puzzle of a technique's example; None where there is none. ValueError where it is not well-formed."""
    file = files(__name__) / f"{technique}.yaml"
    if not file.is_file():
        return None
    with as_file(file) as path:
        (puzzle,) = load_book(path, puzzles_suffice=True).puzzles
    if puzzle.entry is None:
        raise ValueError(f"the example of {technique} is not well-formed")
    return puzzle.entry
