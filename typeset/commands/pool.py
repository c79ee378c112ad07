"""`cagework pool`: the puzzles of a folder, how many there are of each sort, which, and picks of them."""

from __future__ import annotations

import argparse
from pathlib import Path

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, add_scheduler, day, whole


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("folder", metavar="DIR", type=Path, help="a folder of manifests and files of puzzles")
    command.add_argument("--index", metavar="FILE", type=Path,
                         help="file that keeps what is known of the folder (default: one of your own)")
    command.add_argument("--list", action="store_true", help="list puzzles one by one")
    command.add_argument("--json", action="store_true", help="print it as data for other programs (JSON)")
    asked = command.add_argument_group("which puzzles", "each may be given several times")
    asked.add_argument("--grade", action="append", default=[],
                       help="of this grade: stroll, climb, scramble or summit")
    asked.add_argument("--size", action="append", default=[], type=whole, metavar="N",
                       help="of this size (crossing sums: the longer side)")
    asked.add_argument("--rule", action="append", default=[], metavar="NAME",
                       help="with this rule; none for puzzles without any")
    asked.add_argument("--by", action="append", default=[], metavar="NAME", help="by this constructor")
    asked.add_argument("--idea", action="append", default=[], metavar="NAME",
                       help="whose path has this way of reasoning, as x_wing")
    asked.add_argument("--without", action="append", default=[], metavar="NAME", help="whose path does without it")
    asked.add_argument("--sound", action="store_true", help="with exactly one answer")
    asked.add_argument("--unprinted", action="store_true", help="never printed")
    asked.add_argument("--since", type=day, metavar="DATE",
                       help="with --unprinted: not printed on DATE (as 2027-03-01) or later")
    command.add_argument("--printed", action="append", default=[], type=Path, metavar="FILE",
                         help="a ledger, a series or a book: what it has printed is printed")
    command.add_argument("--twins", action="store_true",
                         help="list the puzzles that are one another turned, mirrored or complemented")
    picked = command.add_argument_group("a pick")
    picked.add_argument("--pick", metavar="RECIPE.yaml", type=Path,
                        help="pick puzzles, of those asked for, by a recipe (needs cagework[pool])")
    picked.add_argument("--seed", metavar="N", type=int, default=1,
                        help="another number makes another pick, as good as the first (default: 1)")
    picked.add_argument("--write", metavar="FILE", type=Path, help="write the pick as a manifest")
    picked.add_argument("--build", metavar="DIR", type=Path,
                        help="with --write: make the columns of a series, too, into a folder of their own")
    command.add_argument("--warnings", action="store_true", help="print warnings, too, and not only how many")
    add_budget(command)
    add_scheduler(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Bring what is known of the folder up to date, and print what is asked for."""
    from cagework.typeset.commands.pooled import pool
    return pool(parsed)
