"""`cagework tune`: the smallest changes that make a sound puzzle what it is wanted to be."""

from __future__ import annotations

import argparse
from pathlib import Path

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_scheduler, book, whole
from cagework.typeset.commands.wishes import add_wish


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("file", metavar="FILE", type=book, help="a manifest, its folder, or a file of puzzles")
    command.add_argument("id", metavar="ID", nargs="?", help="the puzzle's id (without it: which there are)")
    add_wish(command)
    command.add_argument("--changes", metavar="N", type=whole, default=2,
                         help="the most changes, one after another (default: 2)")
    command.add_argument("--most", metavar="N", type=whole, default=5, help="how many are offered (default: 5)")
    command.add_argument("--out", metavar="DIR", type=Path, help="write each puzzle offered to a file in DIR")
    command.add_argument("--json", action="store_true", help="print it as data for other programs (JSON)")
    add_budget(command)
    add_scheduler(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read the puzzle, change it, and print what was proved."""
    from cagework.typeset.commands.tuned import tune
    return tune(parsed)
