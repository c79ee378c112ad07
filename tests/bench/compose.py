"""Puzzles composed by the hundred, and judged: `python tests/bench/compose.py [--count N] [--seed N]` (40).

A quarter of them of each grade, over sizes and rules (`SORTS` in tests/outside/composed.py). OR-Tools CP-SAT says
whether each has the answer it was made of and no other; its grade is found anew and every step of its path proved;
nauty says whether two are one another turned, mirrored or complemented. Printed are, for each sort, how many were
made of those asked for, what is wrong, and processor seconds a puzzle, for composing and grading alone, beside
those of the first sort; then by grade, with the taste of cages. The status is 1 where anything is wrong.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

import crossed  # type: ignore[import-not-found]
import oracle  # type: ignore[import-not-found]
from composed import SORTS, faults, key, order, spent  # type: ignore[import-not-found]

from cagework.solver.editing.taste import look
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.solving.composing import composed
from cagework.typeset.solving.crew import Crew


def main() -> int:
    """Compose, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    wrong: Counter[str] = Counter()
    keys: Counter[object] = Counter()
    first = 0.0
    sums = []
    print(f"{'grade':9}{'sort':34}{'made':>9}{'wrong':>6}{'s each':>8}  of the first", flush=True)
    for grade in Grade:
        each = [asked.count // 4 // len(SORTS[grade]) + (at < asked.count // 4 % len(SORTS[grade]))
                for at in range(len(SORTS[grade]))]
        of_grade: list[Puzzle] = []
        time, bad = 0.0, 0
        for sort, count in zip(SORTS[grade], each, strict=True):
            if not count:
                continue
            begun, wanted = spent(), order(grade, sort, count, asked.seed)
            found = list(composed(wanted, Crew(), None))
            took = spent() - begun
            before: Puzzle | None = None
            amiss: Counter[str] = Counter()
            for one in found:
                amiss.update(faults(one, wanted, before, oracle, crossed))
                before = one.made.puzzle
                keys[key(one, wanted)] += 1
            each_took = took / max(1, len(found))
            first = first or each_took
            name = f"{sort[0]} {' '.join(sort[1])}"
            print(f"{grade:9}{name:34}{len(found):4} /{count:3}{sum(amiss.values()):6}{each_took:8.2f}"
                  f"  {each_took / first:.1f}  {dict(amiss) or ''}", flush=True)
            wrong += amiss
            wrong["not made"] += count - len(found)
            of_grade += [one.made.puzzle for one in found]
            time, bad = time + took, bad + sum(amiss.values())
        sums.append((grade, len(of_grade), asked.count // 4, bad, time / max(1, len(of_grade)), _taste(of_grade)))
    for grade, made, count, bad, took, taste in sums:
        print(f"{grade:9}{made:4} /{count:4}, {bad} wrong, {took:.2f} s each; {taste}")
    twins = sum(count - 1 for count in keys.values())
    print(f"{sum(keys.values())} puzzles, {twins} twins; wrong: {dict(+wrong) or 'none'}")
    return 1 if +wrong or twins else 0


def _taste(puzzles: list[Puzzle]) -> str:
    """The look of the cages on an average."""
    seen = [look(puzzle) for puzzle in puzzles if puzzle.shape is None]
    if not seen:
        return "no cages"
    return (f"cages of two {sum(one.dominoes for one in seen) / len(seen):.2f}, squareness "
            f"{sum(one.squareness for one in seen) / len(seen):.2f}, alone {sum(one.lone for one in seen)}, "
            f"filling a house {sum(one.filling for one in seen)}")


if __name__ == "__main__":
    sys.exit(main())
