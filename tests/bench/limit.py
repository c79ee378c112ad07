"""How far pure Python is from the limit: the same search compiled, by `python tests/bench/limit.py`.

mypyc comes with mypy, which the test extras bring; it needs a C compiler and Python's headers (`apt-get install
gcc python3-dev`). The search is compiled in a folder of its own, which is thrown away: no part of the
installation is ever compiled. Both run each puzzle cold in a process of their own, and the better of some runs
counts, in CPU seconds. The verdicts and the choices tried have to be the same.
"""

from __future__ import annotations

import argparse
import json
import pickle
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from kinds import KINDS  # type: ignore[import-not-found]

SOLVER = Path(__file__).parents[2] / "solver"
COMPILED = ("bitset", "combine", "support", *sorted(
    f"search/{file.stem}" for file in (SOLVER / "search").glob("[!_]*.py")))

RUN = """
import functools, json, pickle, sys, time
from cagework.solver.search import exact
rows = []
for puzzle in pickle.load(open(sys.argv[1], "rb")):
    times = []
    for _ in range(int(sys.argv[2])):
        for name, module in list(sys.modules.items()):
            if name.startswith("cagework.solver"):
                for value in vars(module).values():
                    if isinstance(value, functools._lru_cache_wrapper):
                        value.cache_clear()
        start = time.process_time()
        verdict = exact.solve(puzzle)
        times.append(time.process_time() - start)
    rows.append((min(times), verdict.nodes, verdict.outcome))
print(json.dumps([exact.__file__, rows]))
"""


def laid_out(folder: Path) -> None:
    """A copy of the solver, as a package of its own."""
    shutil.copytree(SOLVER, folder / "cagework" / "solver", ignore=shutil.ignore_patterns("__pycache__"))


def compiled(folder: Path) -> None:
    """Compile the copy where it lies."""
    sources = [f"cagework/solver/{name}.py" for name in COMPILED]
    (folder / "setup.py").write_text(
        "from mypyc.build import mypycify\nfrom setuptools import setup\n"
        "setup(name='limit', packages=[], ext_modules=mypycify(\n"
        f"    ['--namespace-packages', '--explicit-package-bases', *{sources}]))\n", encoding="utf-8")
    done = subprocess.run([sys.executable, "setup.py", "build_ext", "--inplace"], cwd=folder, text=True,
                          capture_output=True, check=False)
    if done.returncode:
        raise SystemExit(f"mypyc could not compile the search:\n{done.stdout[-3000:]}{done.stderr[-3000:]}")


def run(folder: Path, puzzles: Path, times: int) -> tuple[str, list[tuple[float, int, str]]]:
    """Solve the puzzles with the search in this folder; where it was loaded from, and a row for each."""
    done = subprocess.run([sys.executable, "-c", RUN, str(puzzles), str(times)], cwd=folder, text=True,
                          capture_output=True, check=False, env={"PYTHONPATH": str(folder), "PATH": ""})
    if done.returncode:
        raise SystemExit(done.stderr)
    file, rows = json.loads(done.stdout)
    if not Path(file).is_relative_to(folder):
        raise SystemExit(f"the search was loaded from {file}")
    return file, [tuple(row) for row in rows]


def main() -> None:
    """Print how many times faster the compiled search is, kind by kind."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--only", action="append", choices=KINDS, metavar="KIND", help=", ".join(KINDS))
    parser.add_argument("--count", type=int, default=8, help="puzzles of each kind")
    parser.add_argument("--seed", type=int, default=100, help="the first seed")
    parser.add_argument("--times", type=int, default=5, help="runs of each puzzle, of which the best counts")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        plain, fast, file = Path(name, "plain"), Path(name, "compiled"), Path(name, "puzzles")
        laid_out(plain)
        laid_out(fast)
        compiled(fast)
        print(f"  {'':14}{'Python, ms':>12}{'compiled, ms':>14}{'times faster':>14}{'least':>8}{'most':>8}")
        for kind in options.only or ("plain", "hard", "size 6", "size 16", "loose"):
            seeds = range(options.seed, options.seed + options.count)
            file.write_bytes(pickle.dumps([KINDS[kind](seed) for seed in seeds]))
            (_, ours), (where, theirs) = (run(folder, file, options.times) for folder in (plain, fast))
            if not where.endswith(".so") or [row[1:] for row in ours] != [row[1:] for row in theirs]:
                raise SystemExit(f"not the same search, or not compiled: {where}")
            ratios = [one[0] / other[0] for one, other in zip(ours, theirs, strict=True)]
            medians = [statistics.median(row[0] * 1e3 for row in rows) for rows in (ours, theirs)]
            print(f"  {kind:14}{medians[0]:12.2f}{medians[1]:14.2f}{statistics.median(ratios):14.2f}"
                  f"{min(ratios):8.2f}{max(ratios):8.2f}")


if __name__ == "__main__":
    main()
