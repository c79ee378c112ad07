"""Puzzles a grade off, brought to the grade asked: `python tests/bench/tune.py [--count N] [--seed N]`.

Composed puzzles (24 if not said), of six and of nine cells a row, each tuned to the grade above its own and, if it
has one, to the grade below, in turn. Told are how many were brought there by one change and by two, the processor
seconds that each took, beside what one path of the puzzle takes in the same run, and how many offers CP-SAT does
not find to have the answer and no other. The status is 1 where there is one.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from composed import spent  # type: ignore[import-not-found]
from oracle import verdict  # type: ignore[import-not-found]

from cagework.solver.editing.compose import ComposeError, Recipe, compose
from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.reasoning.reason import explain
from cagework.solver.search.exact import Outcome
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.tuning import Wish, tuned

_WORK = 10.0
"""What a path may take, in the reasoner's own seconds: an edit that leads to a longer one is passed over."""

RECIPES = (Recipe(size=6), Recipe(), Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0}), Recipe(size=8),
           Recipe(sizes={2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0}, rules=("diagonals",)))


def main() -> int:
    """Compose, tune, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=24)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--changes", type=int, default=2)
    asked = parser.parse_args()
    grades, done, times, wrong = list(Grade), Counter[object](), [], 0
    number, seed = 0, asked.seed - 1
    while number < asked.count:
        seed += 1
        try:
            made = compose(seed, RECIPES[number % len(RECIPES)])
        except ComposeError:
            continue
        begun = spent()
        path = explain(made.puzzle)
        one_path, at = spent() - begun, grades.index(rate(path).grade)
        aim = at + (1 if number % 2 == 0 else -1)
        aim = aim if 0 <= aim < len(grades) else 2 * at - aim
        begun = spent()
        offers = tuned(made.puzzle, made.answer, path, Wish(grades[aim]), Crew(), _WORK, most=asked.changes,
                       offered=1)
        took = spent() - begun
        times.append(took)
        changes = len(offers[0].edits) if offers else 0
        done[changes] += 1
        for offer in offers:
            found = verdict(offer.puzzle)
            sound = found.outcome is Outcome.SOUND and found.answer == made.answer
            wrong += not sound or rate(explain(offer.puzzle)).grade is not grades[aim]
        print(f"{seed:6} {made.puzzle.size}  {grades[at]:9}-> {grades[aim]:9} "
              f"{[str(edit.kind) for edit in offers[0].edits] if offers else 'not found'}  {took:.1f} s, "
              f"{took / max(one_path, 0.01):.0f} paths", flush=True)
        number += 1
    brought = asked.count - done[0]
    print(f"{brought} of {asked.count} brought to the grade asked, {done[1]} by one change, {done[2]} by two; "
          f"{wrong} not as told; {sum(times) / len(times):.1f} s each, at most {max(times):.1f}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
