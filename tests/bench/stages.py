"""Where the CPU seconds of a command go: `python tests/bench/stages.py LOG build BOOK.yaml ...` runs the command
in this process and has each stage, in whichever process it runs, note its seconds in LOG.

A stage within another counts by itself. What is left of the whole is the system, starting and ending processes,
and handing over what they made.
"""

from __future__ import annotations

import functools
import sys
import time
from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

START, REST = "start and imports", "the rest"
STAGES: Mapping[str, tuple[str, ...]] = {
    "reading the manifest": ("manifest.load:load_book",),
    "solving": ("solving.crew:solve",),
    "second search": ("solving.crew:_searched",),
    "paths": ("solving.crew:explain",),
    "findings handed over": ("solving.crew:encode", "solving.crew:decode"),
    "proofs": ("build:prove",),
    "laying-out": ("build:_laid",),
    "drawing and writing": ("build:pdf_bytes", "write.pdf:_coded", "build:_grid_files", "build:replace_all"),
    "read-back and preflight": ("build:_prove_files", "readback.page_range:RangeReader.read"),
}
"""Stage -> the functions under `cagework.typeset` that are it."""

BEFORE_AT = "828ffa9"
BEFORE: Mapping[str, float] = {
    START: 0.033, "reading the manifest": 0.018, "solving": 0.019, "second search": 0.0, "paths": 0.402,
    "findings handed over": 0.042, "proofs": 0.051, "laying-out": 0.079, "drawing and writing": 0.303,
    "read-back and preflight": 0.823, REST: 0.073,
}
"""What the stages took at that commit, as shares of what CP-SAT took in the same minutes (200 puzzles)."""


def read(log: Path, whole: float) -> Mapping[str, float]:
    """Stage -> its CPU seconds, of all processes together; `whole` is what the command took."""
    found = dict.fromkeys((START, *STAGES), 0.0)
    for line in log.read_text(encoding="utf-8").splitlines():
        stage, seconds = line.rsplit("\t", 1)
        found[stage] += float(seconds)
    return found | {REST: whole - sum(found.values())}


def print_table(found: Mapping[str, float], theirs: float) -> None:
    """A line a stage, beside what it was at commit BEFORE_AT; `theirs` are the CPU seconds of CP-SAT."""
    print(f"  CPU seconds by stage, and as shares of CP-SAT's: at {BEFORE_AT}, and now")
    for stage, seconds in found.items():
        print(f"    {stage:24} {seconds:6.2f}  {BEFORE[stage]:5.3f}  {seconds / theirs:5.3f}")
    print(f"    {'the whole':24} {sum(found.values()):6.2f}  {sum(BEFORE.values()):5.3f}  "
          f"{sum(found.values()) / theirs:5.3f}")


def _noting(log: Path) -> Callable[[str, Callable[..., Any]], Callable[..., Any]]:
    """What makes a function note its seconds, less those of stages within it."""
    within: list[float] = []

    def note(stage: str, seconds: float) -> None:
        with log.open("a", encoding="utf-8") as file:
            file.write(f"{stage}\t{seconds:.6f}\n")

    def noted(stage: str, function: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(function)
        def timed(*given: Any, **named: Any) -> Any:
            within.append(0.0)
            start = time.process_time()
            try:
                return function(*given, **named)
            finally:
                taken = time.process_time() - start
                note(stage, taken - within.pop())
                if within:
                    within[-1] += taken
        return timed

    note(START, time.process_time())
    return noted


def main() -> None:
    """Run a command with its stages watched."""
    log, sys.argv = Path(sys.argv[1]), sys.argv[1:]
    from cagework.typeset.commands.door import main as run
    watched = [(stage, *name.split(":")) for stage, names in STAGES.items() for name in names]
    modules = {module: import_module(f"cagework.typeset.{module}") for _, module, _ in watched}
    noted = _noting(log)
    for stage, module, name in watched:
        holder: Any = modules[module]
        *outer, last = name.split(".")
        for part in outer:
            holder = getattr(holder, part)
        setattr(holder, last, noted(stage, getattr(holder, last)))
    sys.exit(run(last=True))


if __name__ == "__main__":
    main()
