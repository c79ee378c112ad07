"""`python -m cagework.typeset.examples NAME...`: find examples' stages and write them beside their puzzles."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from cagework.solver.model import Puzzle
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.reason import Stage, explain
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.typeset.book import Entry
from cagework.typeset.examples import example_entry
from cagework.typeset.solving.record import written


def main(techniques: Iterable[str]) -> None:
    """Write the stages of these techniques' examples, one a line."""
    for technique in techniques:
        entry = example_entry(technique)
        if entry is None:
            raise SystemExit(f"there is no puzzle {technique}.yaml")
        lines = (json.dumps(stage, separators=(",", ":"))
                 for stage in written(_stages(entry, technique), entry.puzzle))
        file = Path(__file__).with_name(f"{technique}.json")
        file.write_text("[\n" + ",\n".join(lines) + "\n]\n", encoding="utf-8")


def _stages(entry: Entry, technique: str) -> tuple[Stage, ...]:
    """A path as far as its first stage by a technique; one by the simple ones and it where others forestall it."""
    few = {name: one for name, one in TECHNIQUES.items() if one.simple or name == technique}
    for known in (TECHNIQUES, few):
        stages = explain(entry.puzzle, techniques=known).stages
        for number, stage in enumerate(stages, 1):
            if stage.step.technique == technique:
                return (*stages[:number - 1], _by_itself(entry.puzzle, stages[:number]))
    raise SystemExit(f"the puzzle {technique}.yaml does not need {technique}")


def _by_itself(puzzle: Puzzle, stages: tuple[Stage, ...]) -> Stage:
    """The last stage as it is told where nothing was told before it: the primer shows it alone."""
    state = State(Frame(puzzle))
    for given in puzzle.givens:
        state.place(state.frame.index[given.cell], 1 << given.digit - 1)
    *before, last = stages
    for stage in before:
        state.apply(stage.step)
    step = TECHNIQUES[last.step.technique].retell(state.frame, last.step, state.candidates)
    return replace(last, step=step)


if __name__ == "__main__":
    main(sys.argv[1:])
