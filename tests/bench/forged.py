"""Forged steps put to the proof, as many as asked for: `python tests/bench/forged.py --each 400 --seed 7`.

Puzzles of several sizes and rules are composed and reasoned through; of every technique that occurs, true steps
are turned into false ones (`tests/solver/proving/lies.py`), each of which contradicts the puzzle's answer. Printed
are how many of each technique and of each lie were forged, how many would convince a proof that believed what they
make up (of the short ones), and how many were accepted: which has to be none.
"""

from __future__ import annotations

import argparse
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "solver" / "proving"))
sys.path.insert(0, str(Path(__file__).parent))

from forge import LIES, Forger, Moment, Tally, moments  # type: ignore[import-not-found]
from reasoner import MIXED, PLAIN  # type: ignore[import-not-found]

from cagework.solver.editing.compose import ComposeError, Recipe, compose, harden
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.reason import explain
from cagework.solver.search.exact import Outcome, solve

RECIPES = (*MIXED, *PLAIN.values(), Recipe(), Recipe(irregular=True), Recipe(rules=("nonconsecutive",)),
           Recipe(size=10, sizes={2: 6.0, 3: 3.0}, dominoes=1.0))


def sound(puzzle: Puzzle) -> bool:
    """Whether the search soon sees that there is one answer."""
    return solve(puzzle, nodes=200).outcome is Outcome.SOUND


def drawn(puzzles: int, seed: int) -> list[Moment]:
    """The steps of so many paths of each recipe; every other puzzle has its cages merged."""
    found: list[Moment] = []
    for recipe in RECIPES:
        for number in range(puzzles):
            try:
                made = compose(seed + number, recipe)
            except ComposeError:
                continue
            if number % 2 and made.puzzle.size == 9:
                made = harden(made, number, sound, fewest=21)
            path = explain(made.puzzle, what_ifs=4)
            found += moments(made.puzzle, made.answer, (stage.step for stage in path.stages))
    return found


def main() -> None:
    """Forge, judge, and print the tally."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--puzzles", type=int, default=4, help="puzzles of each recipe")
    parser.add_argument("--each", type=int, default=200, help="forged steps for each technique")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    tally = Tally()
    for one in Forger(drawn(options.puzzles, options.seed), random.Random(options.seed)).forged(options.each):
        if not one.denies_the_answer:
            raise AssertionError(one)
        tally.add(one)
    for name, count in sorted(tally.techniques.items()):
        print(f"{name:40}{count:7}")
    print(f"\n{'lie':40} forged  would convince")
    for lie in LIES:
        print(f"{lie:40}{tally.lies[lie]:7}{tally.believable[lie]:16}")
    print(f"\n{tally.techniques.total()} forged steps, each contradicting the answer; "
          f"accepted: {len(tally.accepted)}")
    for one in tally.accepted:
        print(f"ACCEPTED ({one.lie}): {one.step}")
    sys.exit(bool(tally.accepted))


if __name__ == "__main__":
    main()
