"""`python -m cagework.typeset.examples NAME...`: find examples' stages and write them beside their puzzles."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from cagework.solver.reasoning.reason import Stage, explain, told_apart
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.typeset.entry import Entry
from cagework.typeset.examples import example_entry
from cagework.typeset.solving.written import written


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
        path = explain(entry.puzzle, techniques=known)
        for number, stage in enumerate(path.stages):
            if stage.step.technique == technique:
                alone = told_apart(path, [number])[number]     # the primer shows it alone
                return (*path.stages[:number], replace(stage, step=alone))
    raise SystemExit(f"the puzzle {technique}.yaml does not need {technique}")


if __name__ == "__main__":
    main(sys.argv[1:])
