"""The solver beside OR-Tools CP-SAT, puzzle by puzzle, in one run: `python tests/bench/solver.py`.

Two corpora of 9 x 9 puzzles are made from fixed seeds, and CP-SAT alone decides which puzzles get in:
*plain* (cages of 2 to 5 cells) and *hard* (the same, cages merged for as long as CP-SAT still finds a single
answer, down to 20 cages). Each engine solves, then proves that there is no second answer.

Times are CPU seconds of this process, so that a busy machine does not tilt them; CP-SAT has one worker.
Ours starts cold each time: every functools cache is emptied first, and it builds no table at import.
The ratio is CP-SAT's time, building its model from the puzzle included, over ours; the ratio without the
building is printed as well. Either engine out of budget counts as a loss: ours as a ratio of nought,
CP-SAT's with the time it had used.
"""

from __future__ import annotations

import argparse
import cProfile
import functools
import pstats
import statistics
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from oracle import Oracle, verdict  # type: ignore[import-not-found]

from cagework.solver.editing.compose import ComposeError, Recipe, compose, harden
from cagework.solver.model import Puzzle
from cagework.solver.search.exact import Outcome, solve

PLAIN = Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5})


@dataclass(frozen=True, slots=True)
class Row:
    """One puzzle's times in seconds, and our nodes."""

    ours: float
    nodes: int
    decided: bool
    building: float
    solving: float

    @property
    def ratio(self) -> float:
        return (self.building + self.solving) / self.ours if self.decided else 0.0

    @property
    def ratio_without_building(self) -> float:
        return self.solving / self.ours if self.decided else 0.0


def empty_caches() -> None:
    """Forget every functools cache of the solver."""
    for name, module in list(sys.modules.items()):
        if name.startswith("cagework.solver"):
            for value in vars(module).values():
                if isinstance(value, functools._lru_cache_wrapper):
                    value.cache_clear()


def measured(puzzle: Puzzle, budget: float) -> Row:
    """Both engines on one puzzle; a disagreement stops the bench."""
    empty_caches()
    start = time.process_time()
    ours = solve(puzzle, seconds=budget)
    ours_done = time.process_time()
    oracle = Oracle(puzzle)
    oracle.solver.parameters.max_time_in_seconds = budget
    built = time.process_time()
    try:
        theirs = oracle.verdict()
    except TimeoutError:
        theirs = None
    done = time.process_time()
    decided = ours.outcome is not Outcome.UNDECIDED
    if decided and theirs is not None and (ours.outcome, ours.answer) != (theirs.outcome, theirs.answer):
        raise SystemExit(f"the engines disagree: {ours} {theirs} {puzzle}")
    return Row(ours_done - start, ours.nodes, decided, built - ours_done, done - built)


def corpora(count: int, seed: int) -> tuple[list[Puzzle], list[Puzzle]]:
    """`count` plain puzzles and the hard ones made of them; CP-SAT decides throughout."""
    plain, hard = [], []
    for number in range(seed, seed + count):
        composed = compose(number, PLAIN, verdict)
        plain.append(composed.puzzle)
        merged = harden(composed, number, lambda trial: verdict(trial).outcome is Outcome.SOUND, fewest=20)
        hard.append(merged.puzzle)
        print(f"\rmaking the corpora: {number - seed + 1} of {count}", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return plain, hard


def report(name: str, puzzles: list[Puzzle], rows: list[Row]) -> None:
    """Print what was measured."""
    cages = statistics.mean(len(puzzle.cages) for puzzle in puzzles)
    print(f"\n{name}: {len(rows)} puzzles, {cages:.1f} cages on average")

    def line(words: str, values: Iterable[float], scale: float = 1, form: str = "9.1f") -> None:
        low, *_, high = ordered = sorted(value * scale for value in values)
        quarter, half, three = statistics.quantiles(ordered, n=4) if len(ordered) > 1 else ordered * 3
        print(f"  {words:30}" + "".join(f"{value:{form}}" for value in (low, quarter, half, three, high)))

    print(f"  {'':30}" + "".join(f"{word:>9}" for word in ("least", "quarter", "median", "quarter", "most")))
    line("ours, ms", (row.ours for row in rows), 1e3)
    line("CP-SAT, ms", (row.building + row.solving for row in rows), 1e3)
    line("ratio", (row.ratio for row in rows))
    line("ratio without model building", (row.ratio_without_building for row in rows))
    line("our nodes", (row.nodes for row in rows), 1, "9.0f")
    lost = sum(row.ratio < 1 for row in rows)
    print(f"  slower or out of budget on {lost} of {len(rows)}")


def growth(seed: int, budget: float) -> None:
    """Print medians for each size; here our own search judged the puzzles, so compare nothing but growth."""
    print("\ngrowth with size (puzzles judged by our own search; medians of 5, of 3 from 12 up)")
    print(f"  {'size':>4}{'cages':>8}{'ours, ms':>10}{'nodes':>8}{'CP-SAT, ms':>12}{'ratio':>8}{'least':>8}")
    for size in (4, 6, 8, 9, 10, 12, 16):
        rows, cages = [], []
        for number in range(seed, seed + (5 if size < 12 else 3)):
            try:
                puzzle = compose(number, Recipe(size=size)).puzzle
            except ComposeError:
                continue
            cages.append(len(puzzle.cages))
            rows.append(measured(puzzle, budget))
        ours, nodes, theirs, ratio = (
            statistics.median(values) for values in zip(
                *((row.ours * 1e3, row.nodes, (row.building + row.solving) * 1e3, row.ratio) for row in rows),
                strict=True,
            )
        )
        print(f"  {size:4}{statistics.median(cages):8.0f}{ours:10.1f}{nodes:8.0f}{theirs:12.1f}{ratio:8.1f}"
              f"{min(row.ratio for row in rows):8.1f}")


def profile(puzzles: list[Puzzle]) -> None:
    """Print where our time goes over a corpus."""
    def run(each: Callable[[Puzzle], object]) -> None:
        for puzzle in puzzles:
            empty_caches()
            each(puzzle)

    profiler = cProfile.Profile()
    profiler.runcall(run, solve)
    pstats.Stats(profiler).sort_stats("tottime").print_stats(14)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=30, help="puzzles in each corpus; 0 for none")
    parser.add_argument("--seed", type=int, default=100, help="the first seed")
    parser.add_argument("--budget", type=float, default=60.0, help="seconds for each engine and solve")
    parser.add_argument("--growth", action="store_true", help="also measure sizes 4 to 16 (some minutes)")
    parser.add_argument("--profile", action="store_true", help="also profile our solver on both corpora")
    options = parser.parse_args()
    made = corpora(options.count, options.seed) if options.count else ()
    for name, puzzles in zip(("plain", "hard"), made, strict=False):
        report(name, puzzles, [measured(puzzle, options.budget) for puzzle in puzzles])
        if options.profile:
            profile(puzzles)
    if options.growth:
        growth(options.seed, options.budget)


if __name__ == "__main__":
    main()
