"""Puzzles drawn over all rules, held against CP-SAT and the prover: `python tests/bench/rules.py 500`.

Each is looked at as it is drawn, with the givens that leave it one answer, and with a flaw: OR-Tools CP-SAT, which
is told the rules by name, has to give the same verdict and the same answer, and every step of the path has to be
proved. Printed is what there was among them, and how many the search left undecided; of each that differs, its
seed, and the status is then 1.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from oracle import verdict  # type: ignore[import-not-found]
from ruled import SIZES, held  # type: ignore[import-not-found]


def main() -> int:
    """Draw, look, count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--sizes", type=int, nargs="+", default=SIZES)
    asked = parser.parse_args()
    seen: Counter[str] = Counter()
    done, seed, wrong = 0, asked.seed, []
    while done < asked.count:
        try:
            found = held(seed, verdict, asked.sizes)
        except AssertionError as error:
            wrong.append(seed)
            print(f"differs: {error}", flush=True)
            found = Counter()
        seed += 1
        if found is not None:
            done += 1
            seen += found
    print(f"{done} puzzles of seeds {asked.seed} to {seed - 1}, {len(wrong)} of which differ")
    for what, count in sorted(seen.items()):
        print(f"{count:8,}  {what}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
