"""Branching on cells beside branching on cages or cells, whichever is tighter: `python tests/bench/branching.py`.

Hardened 9 x 9 puzzles (cages merged while there is one answer); each search runs twice and its better CPU time
counts. A cage is branched on by the combinations left to its open cells, where they are fewer than the digits
left to the tightest cell.
"""

from __future__ import annotations

import argparse
import statistics
import time

from cagework.solver.combine import combinations_within
from cagework.solver.editing.compose import Recipe, compose, harden
from cagework.solver.model import Puzzle
from cagework.solver.search.exact import Outcome, _Search, solve
from cagework.solver.search.kernel import lower
from cagework.solver.search.propagate import propagate


class _CagesOrCells(_Search):
    """The same search with a choice of cages."""

    sums: list[tuple[tuple[int, ...], int]]

    def _descend(self, candidates: list[int]) -> bool:
        cell = self._choose(candidates)
        if cell is None or candidates[cell].bit_count() == 2:
            return super()._descend(candidates)
        best = min((found for cage in self.sums if (found := self._left(candidates, *cage))),
                   key=lambda found: len(found[1]), default=None)
        if best is None or len(best[1]) >= candidates[cell].bit_count():
            return super()._descend(candidates)
        for combination in best[1]:
            self._spend()
            below = candidates[:]
            for place in best[0]:
                below[place] &= combination
            if propagate(self.kernel, below, None) and self._descend(below):
                return True
        return False

    def _left(
        self, candidates: list[int], cells: tuple[int, ...], total: int,
    ) -> tuple[list[int], tuple[int, ...]] | None:
        """A cage's open cells and the combinations left to them; None where there is nothing to choose."""
        places = [cell for cell in cells if candidates[cell] & candidates[cell] - 1]
        union = 0
        for cell in places:
            union |= candidates[cell]
        rest = total - sum(candidates[cell].bit_length() for cell in cells if cell not in places)
        found = combinations_within(union, len(places), rest) if len(places) > 1 else ()
        return (places, found) if len(found) > 1 else None


def _timed(puzzle: Puzzle, kind: type[_Search]) -> tuple[float, int]:
    start = time.process_time()
    search = kind(lower(puzzle), 2, 20_000, None, None)
    if isinstance(search, _CagesOrCells):
        search.sums = [(tuple((row - 1) * puzzle.size + col - 1 for row, col in cage.cells), cage.total)
                       for cage in puzzle.cages if cage.total is not None]
    search.run()
    return time.process_time() - start, search.nodes


def main() -> None:
    """Print nodes and times of both, and the ratio puzzle by puzzle."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=9300)
    chosen = parser.parse_args()
    puzzles = []
    for seed in range(chosen.seed, chosen.seed + chosen.count):
        made = harden(compose(seed, Recipe()), seed,
                      lambda puzzle: solve(puzzle, nodes=4000).outcome is Outcome.SOUND, fewest=20, largest=9)
        puzzles.append(made.puzzle)
    kinds = (_Search, _CagesOrCells)
    rows = [[min(_timed(puzzle, kind) for _ in range(2)) for kind in kinds] for puzzle in puzzles]
    for number, name in enumerate(("cells", "cages or cells")):
        nodes = [row[number][1] for row in rows]
        print(f"{name}: nodes median {statistics.median(nodes)}, in all {sum(nodes)}; "
              f"CPU seconds in all {sum(row[number][0] for row in rows):.2f}")
    ratios = [row[1][0] / row[0][0] for row in rows]
    print(f"time of cages or cells over cells, median of {len(rows)} puzzles: {statistics.median(ratios):.2f}")


if __name__ == "__main__":
    main()
