"""The reasoner on many puzzles, beside OR-Tools CP-SAT: `python tests/bench/reasoner.py`.

Five reports, each over puzzles from fixed seeds:
*plain* (9 x 9, cages of 2 to 5, CP-SAT alone says which puzzles have one answer): how many are solved, how
many of them supposing nothing, the time of the full worked path beside CP-SAT's to solve and prove the same
puzzle, and the proof's beside the reasoner's;
*hard* (the same, cages merged while CP-SAT still finds one answer, down to 20 cages): how many are solved;
*choice*, of both: what the path asks of a reader as it was walked (every step, cheapest first), pruned, and
chosen, and whether another process with another hash seed finds the same path while four others keep the machine
busy;
*steps*: of a sample, the share that cites nothing it could do without, judged by CP-SAT;
*sound*: composed puzzles of sizes 4, 6 and 9 with diagonals, windows, irregular regions and knights, every
step of every path proved and held against the answer.

Times are CPU seconds of this process; CP-SAT has one worker. Ours starts cold: every cache is emptied first.
"""

from __future__ import annotations

import argparse
import dataclasses
import functools
import os
import pickle
import random
import statistics
import subprocess
import sys
import time
from collections import Counter
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path as File

sys.path.insert(0, str(File(__file__).parents[1] / "outside"))

from oracle import verdict  # type: ignore[import-not-found]
from step_oracle import follows, superfluous  # type: ignore[import-not-found]

from cagework.solver.editing.compose import Composed, ComposeError, Recipe, compose, harden
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import rate
from cagework.solver.reasoning.reason import Kept, Path, PathOutcome, Reach, explain
from cagework.solver.search.exact import Outcome as Judgement
from cagework.typeset.words.sentences import Sentences

AGAIN = """
import dataclasses, pickle, sys
from cagework.solver.reasoning.reason import explain
puzzles, seconds = pickle.load(sys.stdin.buffer)
for puzzle in puzzles:
    print(dataclasses.asdict(explain(puzzle, seconds=seconds)))
"""
"""What a process of its own runs to tell paths again."""

PLAIN = {
    "about 25 cages": Recipe(sizes={2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0}),
    "about 27 cages": Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}),
    "about 28 cages": Recipe(sizes={2: 5.0, 3: 4.0, 4: 1.5, 5: 0.3}),
}

MIXED = (
    Recipe(size=4, sizes={2: 3.0, 3: 2.0, 4: 0.5}),
    Recipe(size=6, sizes={2: 4.0, 3: 3.0, 4: 1.0}),
    Recipe(size=6, sizes={2: 3.0, 3: 4.0}, rules=("diagonals",)),
    Recipe(size=6, sizes={2: 4.0, 3: 3.0}, irregular=True),
    Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}),
    Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}, rules=("diagonals",)),
    Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}, rules=("windows",)),
    Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}, rules=("knight",)),
    Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}, irregular=True),
)


@dataclass(frozen=True, slots=True)
class Row:
    """One puzzle, reasoned through; seconds."""

    made: Composed
    path: Path
    reasoning: float
    proving: float
    cpsat: float
    unproved: bool


def measured(made: Composed, seconds: float, *, beside: bool) -> Row:
    """Reason, prove, and let CP-SAT solve the same puzzle."""
    for name, module in list(sys.modules.items()):
        if name.startswith("cagework.solver"):
            for value in vars(module).values():
                if isinstance(value, functools._lru_cache_wrapper):
                    value.cache_clear()
    start = time.process_time()
    path = explain(made.puzzle, seconds=seconds)
    reasoned = time.process_time()
    unproved = Prover(made.puzzle, made.answer).first_unproved(stage.step for stage in path.stages)
    proved = time.process_time()
    if beside:
        verdict(made.puzzle)
    done = time.process_time()
    if unproved is not None:
        print(f"NOT PROVED (CP-SAT: {follows(made.puzzle.size, unproved)}): {unproved}")
    if path.answer not in (None, made.answer):
        print(f"WRONG ANSWER: {made.puzzle}")
    return Row(made, path, reasoned - start, proved - reasoned, done - proved, unproved is not None)


def told(name: str, rows: list[Row]) -> None:
    """Print what became of a corpus."""
    ends = Counter(row.path.outcome.value for row in rows)
    free = sum(row.path.outcome is PathOutcome.SOLVED and row.path.what_ifs == 0 for row in rows)
    cages = statistics.mean(len(row.made.puzzle.cages) for row in rows)
    print(f"\n{name}: {len(rows)} puzzles, {cages:.1f} cages on average")
    print("  ended " + ", ".join(f"{end} {count}" for end, count in ends.items()))
    reached = Counter(row.path.reach for row in rows)
    print(f"  within the limits to the end: {reached[Reach.WHOLE]} of {len(rows)} "
          f"({100 * reached[Reach.WHOLE] / len(rows):.0f} %); need trial: {reached[Reach.TRIAL]}")
    most = max((stage.step.load for row in rows for stage in row.path.stages), default=0)
    print(f"  most cases or links of a step: {most}; most CPU of a puzzle that needs trial: "
          f"{max((row.reasoning for row in rows if row.path.reach is Reach.TRIAL), default=0.0):.1f} s")
    print(f"  solved with no what-if: {free} of {len(rows)} ({100 * free / len(rows):.0f} %)")
    print(f"  what-ifs in the others: {sorted(row.path.what_ifs for row in rows if row.path.what_ifs)}")
    print("  grades " + ", ".join(f"{grade} {n}" for grade, n in Counter(
        rate(row.path).grade.value for row in rows).items()))
    ours = sorted(1e3 * row.reasoning for row in rows)
    print(f"  reasoning, ms: median {statistics.median(ours):.0f}, most {ours[-1]:.0f}")
    share = sum(row.proving for row in rows) / sum(row.reasoning for row in rows)
    print(f"  proving takes {100 * share:.0f} % of the time of reasoning")
    theirs = [1e3 * row.cpsat for row in rows]
    if any(theirs):
        ratios = [row.cpsat / row.reasoning for row in rows]
        print(f"  CP-SAT, ms: median {statistics.median(theirs):.0f}; its time over ours: "
              f"median {statistics.median(ratios):.1f}, ours slower on {sum(r < 1 for r in ratios)}")
    print(f"  steps not proved: {sum(row.unproved for row in rows)}")


def choice(name: str, rows: list[Row], seconds: float) -> None:
    """Print what a path asks as walked, pruned and chosen; the last is told again by a process of its own."""
    rooms = {kept: [explain(row.made.puzzle, seconds=seconds, kept=kept) for row in rows] for kept in Kept}
    amounts = {kept: [_amounts(path) for path in paths] for kept, paths in rooms.items()}
    print(f"\nchoice, {name}: medians" + "".join(f"{kept:>12}" for kept in Kept) + "   chosen over walked")
    for number, what in enumerate(("load", "steps", "ideas", "words")):
        columns = {kept: [one[number] for one in amounts[kept]] for kept in Kept}
        middle = {kept: statistics.median(column) for kept, column in columns.items()}
        share = statistics.median(
            chosen / walked for chosen, walked in zip(columns[Kept.CHOSEN], columns[Kept.WALKED], strict=True))
        print(f"  {what:<21}" + "".join(f"{middle[kept]:12g}" for kept in Kept)
              + f"   {middle[Kept.CHOSEN] / middle[Kept.WALKED]:.2f}, puzzle by puzzle {share:.2f}")
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(4)]
    try:
        again = subprocess.run(
            [sys.executable, "-c", AGAIN], input=pickle.dumps(([row.made.puzzle for row in rows], seconds)),
            env={**os.environ, "PYTHONHASHSEED": "7"}, capture_output=True, check=True).stdout.decode().split("\n")
    finally:
        for one in busy:
            one.kill()
            one.wait()
    same = sum(str(dataclasses.asdict(path)) == told
               for path, told in zip(rooms[Kept.CHOSEN], again, strict=False))
    print(f"  the same path with another hash seed beside four busy processes: {same} of {len(rows)}")


def _amounts(path: Path) -> tuple[int, int, int, int]:
    """Load, steps, ideas and words, those of the English sentences, a paragraph an idea."""
    english = Sentences("en")
    words = sum(len(english.paragraph(list(idea)).split())
                for _, idea in groupby(path.stages, key=lambda stage: stage.idea))
    ideas = path.stages[-1].idea + 1 if path.stages else 0
    return sum(stage.step.load for stage in path.stages), len(path.stages), ideas, words


def corpora(count: int, recipe: Recipe) -> list[Composed]:
    """Puzzles that CP-SAT alone judged."""
    return [compose(seed, recipe, verdict) for seed in range(count)]


def sharpness(rows: list[Row], each: int) -> None:
    """Print the share of steps that cite nothing superfluous."""
    rng = random.Random(1)
    judged, spare, wrong = Counter[str](), Counter[str](), 0
    for row in rows:
        for stage in rng.sample(row.path.stages, min(each, len(row.path.stages))):
            judged[stage.step.technique] += 1
            wrong += not follows(row.made.puzzle.size, stage.step)
            spare[stage.step.technique] += bool(superfluous(row.made.puzzle.size, stage.step))
    total = sum(judged.values())
    print(f"\nsteps: {total} judged by CP-SAT, {wrong} do not follow; "
          f"{100 * (total - sum(spare.values())) / total:.1f} % cite nothing superfluous")
    print("  superfluous: " + ", ".join(f"{name} {n} of {judged[name]}" for name, n in spare.items() if n))


def sound(count: int, seconds: float) -> None:
    """Print how many of many composed puzzles have a step that is not proved, or one that denies the answer."""
    done, unproved, denying, ends, steps = 0, 0, 0, Counter[str](), 0
    seed = 0
    while done < count:
        for recipe in MIXED:
            try:
                made = compose(seed, recipe)
            except ComposeError:
                continue
            row = measured(made, seconds, beside=False)
            done += 1
            unproved += row.unproved
            steps += len(row.path.stages)
            ends[row.path.outcome.value] += 1
            denying += any(
                mask >> made.answer.at(cell) - 1 & 1 for stage in row.path.stages
                for cell, mask in stage.step.removes)
        seed += 1
    print(f"\nsound: {done} puzzles, {steps} steps; paths with an unproved step {unproved}, "
          f"with a step that denies the answer {denying}")
    print("  ended " + ", ".join(f"{end} {n}" for end, n in ends.items()))


def main() -> None:
    """Run all reports."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--plain", type=int, default=40, help="puzzles of each plain recipe")
    parser.add_argument("--hard", type=int, default=20, help="hard puzzles")
    parser.add_argument("--sound", type=int, default=1000, help="mixed puzzles proved step by step")
    parser.add_argument("--seconds", type=float, default=60.0, help="budget for a path")
    options = parser.parse_args()
    plain: list[Row] = []
    for name, recipe in PLAIN.items():
        if options.plain:
            rows = [measured(made, options.seconds, beside=True) for made in corpora(options.plain, recipe)]
            told(f"plain, {name}", rows)
            plain += rows
    if options.hard:
        merged = [
            harden(made, seed, lambda trial: verdict(trial).outcome is Judgement.SOUND, fewest=20)
            for seed, made in enumerate(corpora(options.hard, PLAIN["about 25 cages"]))
        ]
        hard = [measured(made, options.seconds, beside=False) for made in merged]
        told("hard", hard)
        choice("hard", hard, options.seconds)
    if plain:
        whole = sum(row.path.reach is Reach.WHOLE for row in plain)
        print(f"\nplain, all: within the limits {whole} of {len(plain)}; CP-SAT's time over ours, median "
              f"{statistics.median(row.cpsat / row.reasoning for row in plain):.2f}")
        choice("plain", plain, options.seconds)
        sharpness(plain, 5)
    if options.sound:
        sound(options.sound, options.seconds)


if __name__ == "__main__":
    main()
