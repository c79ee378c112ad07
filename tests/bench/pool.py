"""A pool of composed puzzles: `python tests/bench/pool.py [count ...] [--size N]` (10 100 1000, of nine).

For each count: `cagework pool` on a new folder of so many, a file each; again with nothing changed, and with one
file changed, each a process of its own. Told are processor seconds, which do not depend on what else the machine
does, beside those of `cagework check` on the same files in the same run; the most memory that all processes of the
first held together, beside that of the first count; and the size of the index for each puzzle.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import tempfile
from pathlib import Path

from running import COMMAND, ran_held  # type: ignore[import-not-found]

from cagework.solver.editing.compose import ComposeError, Recipe, compose
from cagework.solver.model import Puzzle


def as_json(name: str, puzzle: Puzzle, by: str) -> str:
    """A puzzle as the file of one; JSON is YAML."""
    cages = [{"cells": " ".join(map(str, cage.cells)), "sum": cage.total} for cage in puzzle.cages]
    return json.dumps({"id": name, "title": name, "by": by, "size": puzzle.size, "cages": cages}, indent=1)


def fill(folder: Path, count: int, size: int) -> None:
    """So many puzzles, a file each; a seed that leads to none is passed over."""
    recipe = Recipe(size=size, sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5})
    folder.mkdir()
    seed = made = 0
    while made < count:
        seed += 1
        try:
            puzzle = compose(seed, recipe).puzzle
        except ComposeError:
            continue
        made += 1
        (folder / f"p{made:05}.yaml").write_text(as_json(f"p{made:05}", puzzle, f"maker {made % 12}"))


def spent(*arguments: object) -> tuple[float, float]:
    """Run a command; the processor seconds it took, with all below it, and the memory it held, in MB."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    _, memory = ran_held(*arguments)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, memory


def main() -> None:
    """Print a line for each count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("counts", type=int, nargs="*", default=[10, 100, 1000])
    parser.add_argument("--size", type=int, default=9)
    asked = parser.parse_args()
    print("puzzles  check s  pool s (/check)  again s (/pool)  one changed s  memory MB (/first)  index KB each")
    first = 0.0
    with tempfile.TemporaryDirectory() as home:
        for count in asked.counts:
            folder, index, kept = (Path(home) / f"{name} {count}" for name in ("folder", "index", "kept"))
            fill(folder, count, asked.size)
            options = (folder, "--index", index, "--cache", kept)
            checked, _ = spent("check", *sorted(folder.iterdir()), "--no-cache")
            whole, memory = spent("pool", *options)
            again, _ = spent("pool", *options)
            changed = next(folder.iterdir())
            changed.write_text(changed.read_text().replace('"title": "p', '"title": "q'))
            one, _ = spent("pool", *options)
            first = first or memory
            said = subprocess.check_output([*COMMAND, "pool", *map(str, options), "--json"])
            assert len(json.loads(said)["puzzles"]) == count
            print(f"{count:7}{checked:9.1f}{whole:8.1f} ({whole / checked:.2f}){again:11.2f} ({again / whole:.3f})"
                  f"{one:15.2f}{memory:13.0f} ({memory / first:.2f}){index.stat().st_size / 1024 / count:15.1f}",
                  flush=True)


if __name__ == "__main__":
    main()
