"""The solver beside OR-Tools CP-SAT, kind by kind, in one run: `python tests/bench/solver.py`.

The kinds are in `kinds.py`, each made from fixed seeds: plain and hard nines (cages of 2 to 5 cells; the same
merged for as long as CP-SAT still finds a single answer, down to 20 cages), sizes 4 to 16, every rule, rules
without cages (*bare*), givens, irregular regions, loose grids, drafts, and puzzles that contradict themselves.
Each engine solves, then proves that there is no second answer.

Times are CPU seconds of this process, so that a busy machine does not tilt them; CP-SAT has one worker.
Ours is timed twice. *Cold* starts with every functools cache emptied, as the first puzzle of a process does; it
builds no table at import. *Kept* has what the puzzles of the kind before it left in those caches, as a book or the
desk has: tables of houses and of sums, never anything of the puzzle itself, which it has not met (the caches are
emptied before each kind, and all its puzzles are solved in one go). CP-SAT's library is loaded once for all.
The ratio is CP-SAT's time, building its model from the puzzle included, over ours; for plain and hard nines the
ratio without the building is printed as well. Either engine out of budget counts as a loss: ours as a ratio of
nought, CP-SAT's with the time it had used.
"""

from __future__ import annotations

import argparse
import cProfile
import functools
import pstats
import statistics
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from kinds import KINDS  # type: ignore[import-not-found]
from oracle import Oracle  # type: ignore[import-not-found]

from cagework.solver.model import Puzzle
from cagework.solver.search.exact import Outcome, solve

IN_FULL = ("plain", "hard")
"""Kinds of which the quarters are printed as well."""


@dataclass(frozen=True, slots=True)
class Row:
    """One puzzle's times in seconds, and our nodes; `ours` is cold."""

    ours: float
    kept: float
    nodes: int
    decided: bool
    building: float
    solving: float

    @property
    def ratio(self) -> float:
        return (self.building + self.solving) / self.ours if self.decided else 0.0

    @property
    def ratio_kept(self) -> float:
        return (self.building + self.solving) / self.kept if self.decided else 0.0

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


def kept_times(puzzles: Iterable[Puzzle], budget: float) -> list[float]:
    """Our seconds for each puzzle, with the tables that those before it left."""
    empty_caches()
    times = []
    for puzzle in puzzles:
        start = time.process_time()
        solve(puzzle, seconds=budget)
        times.append(time.process_time() - start)
    return times


def measured(puzzle: Puzzle, budget: float, kept: float) -> Row:
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
    if decided and theirs is not None and (ours.outcome is not theirs.outcome or (
            ours.outcome is Outcome.SOUND and ours.answer != theirs.answer)):
        raise SystemExit(f"the engines disagree: {ours} {theirs} {puzzle}")
    return Row(ours_done - start, kept, ours.nodes, decided, built - ours_done, done - built)


def made(kind: str, count: int, seed: int) -> list[Puzzle]:
    """`count` puzzles of one kind."""
    puzzles = []
    for number in range(seed, seed + count):
        puzzles.append(KINDS[kind](number))
        print(f"\rmaking {kind}: {number - seed + 1} of {count}  ", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return puzzles


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
    line("ours, tables kept, ms", (row.kept for row in rows), 1e3)
    line("CP-SAT, ms", (row.building + row.solving for row in rows), 1e3)
    line("ratio", (row.ratio for row in rows))
    line("ratio, tables kept", (row.ratio_kept for row in rows))
    line("ratio without model building", (row.ratio_without_building for row in rows))
    line("our nodes", (row.nodes for row in rows), 1, "9.0f")
    lost = sum(row.ratio < 1 for row in rows)
    print(f"  slower or out of budget on {lost} of {len(rows)}")


HEADINGS = ("puzzles", "cold, ms", "99 in 100", "kept, ms", "CP-SAT, ms", "99 in 100", "ratio cold", "least",
            "ratio kept", "least", "slower", "late", "undecided")


def by_kind(rows: dict[str, list[Row]]) -> None:
    """Print a line for each kind: medians, what 99 of 100 stay under, and how often CP-SAT is faster.

    *Slower* counts puzzles that took us longer than CP-SAT, *late* those that took half a second more; cold, both.
    """
    print("\nby kind (medians)\n" + " " * 16 + "".join(f"{word:>11}" for word in HEADINGS))
    for kind, each in [*rows.items(), ("all", [row for some in rows.values() for row in some])]:
        ours = [row.ours * 1e3 for row in each]
        theirs = [(row.building + row.solving) * 1e3 for row in each]
        ratios = [row.ratio for row in each]
        kept = statistics.median(row.kept * 1e3 for row in each)
        ratios_kept = [row.ratio_kept for row in each]
        times = (statistics.median(ours), _high(ours), kept, statistics.median(theirs), _high(theirs))
        counts = (sum(ratio < 1 for ratio in ratios),
                  sum(mine - other > 500 for mine, other in zip(ours, theirs, strict=True)),
                  sum(not row.decided for row in each))
        print(f"  {kind:14}{len(each):11}" + "".join(f"{value:11.2f}" for value in times)
              + "".join(f"{statistics.median(some):11.1f}{min(some):11.1f}" for some in (ratios, ratios_kept))
              + "".join(f"{number:11}" for number in counts))


def _high(values: Sequence[float]) -> float:
    """What 99 of 100 values do not exceed."""
    return sorted(values)[(99 * len(values) - 1) // 100]


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
    parser.add_argument("--only", action="append", choices=KINDS, metavar="KIND",
                        help=f"one kind, may be said again: {', '.join(KINDS)}")
    parser.add_argument("--count", type=int, default=8, help="puzzles of each kind")
    parser.add_argument("--seed", type=int, default=100, help="the first seed")
    parser.add_argument("--budget", type=float, default=60.0, help="seconds for each engine and solve")
    parser.add_argument("--profile", action="store_true", help="also profile our solver on each kind")
    options = parser.parse_args()
    rows: dict[str, list[Row]] = {}
    for kind in options.only or KINDS:
        puzzles = made(kind, options.count, options.seed)
        kept = kept_times(puzzles, options.budget)
        rows[kind] = [measured(puzzle, options.budget, each) for puzzle, each in zip(puzzles, kept, strict=True)]
        if kind in IN_FULL:
            report(kind, puzzles, rows[kind])
        if options.profile:
            profile(puzzles)
    by_kind(rows)


if __name__ == "__main__":
    main()
