"""A month of newspaper columns beside the sample book: `python tests/bench/columns.py [rounds]`.

The book is built for a screen, and with its press file, as the columns' own files are press files. All are made in
one run, by turns, each in a process of its own with nothing kept from before; processor time is what counts, as
it does not depend on what else the machine does.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
COMMANDS = {
    "the book": ["build", "books/slow-train/book.yaml"],
    "with press file": ["build", "books/slow-train/book.yaml", "--press"],
    "the month": ["columns", "books/gazette/series.yaml"],
}


def seconds(arguments: list[str], out: Path) -> float:
    """Processor seconds of one command, its children's included."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    program = "import sys; from cagework.typeset.commands.door import main; sys.exit(main(sys.argv[1:]))"
    subprocess.run([sys.executable, "-c", program, *arguments, "--no-cache", "--out", str(out)], cwd=ROOT,
                   check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Print the medians and their ratios."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    times: dict[str, list[float]] = {name: [] for name in COMMANDS}
    with tempfile.TemporaryDirectory() as folder:
        for number in range(rounds):
            for name, arguments in COMMANDS.items():
                times[name].append(seconds(arguments, Path(folder) / f"{name} {number}"))
    month = median(times["the month"])
    for name, found in times.items():
        print(f"{name:16}{median(found):6.2f} s  ({', '.join(f'{one:.2f}' for one in found)})"
              f"  month / this = {month / median(found):.2f}")


if __name__ == "__main__":
    main()
