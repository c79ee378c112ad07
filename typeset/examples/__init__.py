"""A small puzzle of our own for each technique, beside this module: what the primer draws."""

from __future__ import annotations

import functools
from importlib.resources import as_file, files

from cagework.solver.techniques import TECHNIQUES
from cagework.typeset.manifest.load import load_book
from cagework.typeset.work import Worked, work_out


@functools.cache
def worked_example(technique: str) -> tuple[Worked, int] | None:
    """A worked puzzle and the number of its first stage by this technique; None where there is no example.

    A technique that others forestall is shown on a path that knows only the simple ones beside it.
    """
    file = files(__name__) / f"{technique}.yaml"
    if not file.is_file():
        return None
    with as_file(file) as path:
        (puzzle,) = load_book(path, puzzles_suffice=True).puzzles
    if puzzle.entry is None:
        raise ValueError(f"the example of {technique} is not well-formed")
    few = {name: one for name, one in TECHNIQUES.items() if one.simple or name == technique}
    for known in (TECHNIQUES, few):
        worked = work_out(puzzle.entry, techniques=known)
        for number, stage in enumerate(worked.path.stages):
            if stage.step.technique == technique:
                return worked, number
    return None
