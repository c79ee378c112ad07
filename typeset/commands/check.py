"""`cagework check`: every puzzle of some files solved, and what is said of each."""

from __future__ import annotations

import argparse
from pathlib import Path

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, add_scheduler, book


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("files", metavar="FILE", type=book, nargs="+",
                         help="a manifest, its folder, or a file of puzzles")
    command.add_argument("--json", action="store_true", help="print it as data for other programs (JSON)")
    command.add_argument("--why", action="store_true",
                         help="say why a puzzle is not sound, and which repairs were proved")
    command.add_argument("--spare", action="store_true",
                         help="say which givens and sums a sound puzzle could do without")
    command.add_argument("--pictures", metavar="DIR", type=Path,
                         help="write an SVG of the cells at issue for each unsound puzzle into DIR")
    add_budget(command)
    add_scheduler(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read, solve, diagnose, and say what was found."""
    from cagework.typeset.commands.checked import check
    return check(parsed)
