"""A pool of composed puzzles: `python tests/bench/pool.py [count ...] [--size N]` (10 100 1000, of nine).

For each count: `cagework pool` on a new folder of so many, a file each, by one core, by two, by a Dask scheduler
with two worker processes here, and by the same with one of the workers killed in the middle. Told are processor
seconds (with the scheduler's and the workers', from their start), seconds by the clock, and the most memory that
the command's processes held together, each beside those of one core in the same run; and whether the index says
the same. Then processor seconds of `cagework check` on the same files on two cores, of `pool` again with nothing
changed and with one file changed, each beside the first; and the size of the index for each puzzle.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class Spent:
    """Processor seconds, seconds by the clock, memory in MB."""

    cpu: float
    clock: float
    memory: float

    def beside(self, other: Spent) -> str:
        """These figures, each with how often it is the other's."""
        return "".join(f"{one:10.2f} ({one / of:5.2f})" for one, of in (
            (self.cpu, other.cpu), (self.clock, other.clock), (self.memory, other.memory)))


def processor() -> float:
    """The processor seconds of all processes that have ended and been waited for."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def spent(*arguments: object, cores: int = 2) -> Spent:
    """Run a command on so many cores."""
    before, all_cores = processor(), os.sched_getaffinity(0)
    os.sched_setaffinity(0, sorted(all_cores)[:cores])
    try:
        clock, memory = ran_held(*arguments)
    finally:
        os.sched_setaffinity(0, all_cores)
    return Spent(processor() - before, clock, memory)


@contextmanager
def machines(folder: Path) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """A scheduler and two workers: its address, and one of these."""
    dask, told = Path(sys.executable).with_name("dask"), folder / "scheduler.json"
    told.unlink(missing_ok=True)

    def begun(*words: object) -> subprocess.Popen[bytes]:
        return subprocess.Popen([dask, *map(str, words), "--no-dashboard"], cwd=folder,
                                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    all_of = [begun("scheduler", "--host", "127.0.0.1", "--port", 0, "--scheduler-file", told)]
    try:
        while not (told.exists() and told.read_text()):
            time.sleep(0.1)
        address = json.loads(told.read_text())["address"]
        all_of += [begun("worker", address, "--nthreads", 1, "--no-nanny") for _ in range(2)]
        yield address, all_of[-1]
    finally:
        for one in all_of:
            one.kill()
            one.wait()


def far(folder: Path, options: tuple[object, ...], kill_after: float | None) -> Spent:
    """Run `pool` by a scheduler, and kill a worker after so many seconds."""
    before = processor()
    with machines(folder) as (address, worker):
        killer = threading.Timer(kill_after or 0, worker.kill)
        if kill_after is not None:
            killer.start()
        done = spent("pool", *options, "--scheduler", address)
        if kill_after is not None:
            assert killer.finished.is_set(), "it was over before a worker could be killed"
    return Spent(processor() - before, done.clock, done.memory)


def main() -> None:
    """Print some lines for each count."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("counts", type=int, nargs="*", default=[10, 100, 1000])
    parser.add_argument("--size", type=int, default=9)
    asked = parser.parse_args()
    print(f"load before: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print("puzzles  by                      CPU s (/one)     clock s (/one)   memory MB (/one)")
    with tempfile.TemporaryDirectory() as home:
        for count in asked.counts:
            measure(Path(home), count, asked.size)


def measure(home: Path, count: int, size: int) -> None:
    """Print the lines of one count."""
    folder = home / f"folder {count}"
    fill(folder, count, size)
    said: list[bytes] = []
    done: dict[str, Spent] = {}
    for name in ("one core", "two cores", "scheduler", "one of two killed"):
        options = (folder, "--index", home / f"{count} {name}", "--cache", home / f"{count} {name} kept")
        match name:
            case "one core" | "two cores":
                done[name] = spent("pool", *options, cores=1 + (name == "two cores"))
            case "scheduler":
                done[name] = far(home, options, None)
            case _:
                done[name] = far(home, options, done["scheduler"].clock / 2)
        said.append(subprocess.check_output([*COMMAND, "pool", *map(str, options), "--json"]))
        assert len(json.loads(said[-1])["puzzles"]) == count
        print(f"{count:7}  {name:18}{done[name].beside(done['one core'])}"
              f"  {'the same' if said[-1] == said[0] else 'ANOTHER'} index", flush=True)
    index = home / f"{count} two cores"
    options = (folder, "--index", index, "--cache", f"{index} kept")
    first = done["two cores"].cpu
    checked = spent("check", *sorted(folder.iterdir()), "--no-cache").cpu
    again = spent("pool", *options).cpu
    changed = next(folder.iterdir())
    changed.write_text(changed.read_text().replace('"title": "p', '"title": "q'))
    one = spent("pool", *options).cpu
    print(f"{count:7}  CPU s of two cores' {first:.2f}: check {checked:.2f} ({checked / first:.2f}), again "
          f"{again:.2f} ({again / first:.3f}), one changed {one:.2f} ({one / first:.3f}); index "
          f"{index.stat().st_size / 1024 / count:.1f} KB each", flush=True)


if __name__ == "__main__":
    main()
