"""How long the program takes to start, beside bare Python and CP-SAT: `python tests/bench/start.py`.

Each figure is the median CPU time (user and system) of several whole processes, all kinds in turn, so that a busy
machine tilts none of them. `--help` and `--version` are held against Python that loads argparse and prints a help
of one option; `check` of one plain puzzle, with nothing kept and with its finding kept, against Python that loads
CP-SAT and finds the same puzzle's answer. All modules are compiled beforehand, as an installation has them.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

PUZZLE = """\
id: lamp
title: Lamp
size: 4
map: |
  aabc
  dabc
  deec
  dfff
sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""
BARE = "import argparse; argparse.ArgumentParser(prog='bare').parse_args(['--help'])"
CP_SAT = """\
import ortools.sat.python.cp_model as cp
rows, sums = ["aabc", "dabc", "deec", "dfff"], {"a": 7, "b": 6, "c": 6, "d": 8, "e": 4, "f": 9}
model = cp.CpModel()
cells = {(r, c): model.new_int_var(1, 4, f"r{r}c{c}") for r in range(4) for c in range(4)}
for line in range(4):
    model.add_all_different([cells[line, c] for c in range(4)])
    model.add_all_different([cells[r, line] for r in range(4)])
    model.add_all_different([cells[line // 2 * 2 + k // 2, line % 2 * 2 + k % 2] for k in range(4)])
for letter, total in sums.items():
    cage = [cell for (r, c), cell in cells.items() if rows[r][c] == letter]
    model.add_all_different(cage)
    model.add(sum(cage) == total)
solver = cp.CpSolver()
solver.parameters.num_workers = 1
assert solver.solve(model) == cp.OPTIMAL
print("".join(str(solver.value(cell)) for cell in cells.values()))
"""
ANSWER = "2143342143121234"
BOUNDS = {"--version": ("bare", 1.5), "--help": ("bare", 1.5), "check, cold": ("CP-SAT", 1 / 3),
          "check, kept": ("CP-SAT", 1 / 3)}
"""A kind of process -> what it is held against, and how much of that it may take."""


def cpu(command: Sequence[str], environment: Mapping[str, str]) -> float:
    """User and system seconds of one process, which is to end well."""
    silent = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    process = os.posix_spawn(command[0], command, environment, file_actions=silent)
    _, status, used = os.wait4(process, 0)
    if status:
        raise SystemExit(f"{' '.join(command)}: status {status}")
    return used.ru_utime + used.ru_stime


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--runs", type=int, default=15, help="processes of each kind (default: 15)")
    runs = asked.parse_args().runs
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        puzzle = folder / "lamp.yaml"
        puzzle.write_text(PUZZLE, encoding="utf-8")
        environment = dict(os.environ) | {"PYTHONPYCACHEPREFIX": str(folder / "compiled"),
                                          "XDG_CACHE_HOME": str(folder / "kept")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        cagework = str(Path(sys.executable).with_name("cagework"))
        kinds = {
            "bare": [sys.executable, "-c", BARE],
            "--version": [cagework, "--version"],
            "--help": [cagework, "--help"],
            "CP-SAT": [sys.executable, "-c", CP_SAT],
            "check, cold": [cagework, "check", str(puzzle), "--no-cache"],
            "check, kept": [cagework, "check", str(puzzle)],
        }
        said = {kind: subprocess.run(command, env=environment, check=True, capture_output=True, text=True).stdout
                for kind, command in kinds.items()}
        if said["CP-SAT"].strip() != ANSWER or not all("sound" in said[kind] for kind in kinds if "check" in kind):
            raise SystemExit(f"the engines disagree: {said}")
        times: dict[str, list[float]] = {kind: [] for kind in kinds}
        for _ in range(runs):
            for kind, command in kinds.items():
                times[kind].append(cpu(command, environment))
    medians = {kind: statistics.median(found) for kind, found in times.items()}
    print(f"CPU milliseconds, medians of {runs}\n{'':14}{'ours':>8}{'beside':>8}{'ratio':>8}{'at most':>9}")
    for kind, (beside, bound) in BOUNDS.items():
        ratio = medians[kind] / medians[beside]
        print(f"{kind:14}{medians[kind] * 1e3:8.1f}{medians[beside] * 1e3:8.1f}{ratio:8.2f}{bound:9.2f}  "
              f"{'held' if ratio <= bound else 'NOT HELD'} against {beside}")


if __name__ == "__main__":
    main()
