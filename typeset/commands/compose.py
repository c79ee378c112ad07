"""`cagework compose`: new puzzles to a recipe, each in a file of its own."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from cagework.typeset.choices import Kind
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, add_scheduler, whole
from cagework.typeset.commands.wishes import add_wish


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("--out", metavar="DIR", type=Path, default=Path("composed"),
                         help="folder to write into (default: composed)")
    command.add_argument("--count", metavar="N", type=whole, default=1, help="how many puzzles (default: 1)")
    command.add_argument("--seed", metavar="N", type=int, default=1,
                         help="a number to begin with: the same number and wishes give the same puzzles "
                              "(default: 1)")
    command.add_argument("--name", metavar="ID", default="composed",
                         help="what ids begin with; a number follows (default: composed)")
    command.add_argument("--kind", choices=list(Kind), type=Kind, default=Kind.CAGES,
                         help="the kind of puzzle (default: cages)")
    command.add_argument("--size", metavar="N", type=_extent, default=(9, 9),
                         help="digits, and cells to a row; of crossing sums rows and columns: 10x8 (default: 9)")
    add_wish(command)
    command.add_argument("--cages", metavar="SIZES", type=_weights,
                         help="how often a cage has how many cells, such as 2:3,3:4,4:2 (default: by the grade)")
    command.add_argument("--shape", choices=("any", "compact", "winding"), default="any",
                         help="the shape of cages (default: any)")
    command.add_argument("--symmetry", choices=("none", "half-turn", "mirror"), default="none",
                         help="what leaves the cages as they are (default: none)")
    command.add_argument("--regions", choices=("boxes", "irregular", "none"), default="boxes",
                         help="what there is beside rows and columns (default: boxes)")
    command.add_argument("--rule", metavar="NAME[:N]", type=_rule, action="append", default=[], dest="rules",
                         help="a rule of the manifest, or houses; of one on cells so many lines, marks or numbers "
                              "are laid over the answer (default: by the size); may be repeated")
    command.add_argument("--beside", metavar="FILE", type=Path, action="append", default=[],
                         help="a manifest or file of puzzles of which none is to come again; may be repeated")
    add_budget(command)
    add_scheduler(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Compose, and write each puzzle as it is found."""
    from cagework.typeset.commands.composed import compose
    return compose(parsed)


def _weights(text: str) -> dict[int, float]:
    """Cells -> weight."""
    weights = {}
    for part in text.split(","):
        match = re.fullmatch(r"\s*(\d+)\s*:\s*(\d+(?:\.\d+)?)\s*", part)
        if not match or not 1 <= int(match[1]) <= 9:
            raise argparse.ArgumentTypeError(
                f"{text!r} does not say how often a cage has how many cells, 1 to 9, such as 2:3,3:4,4:2")
        weights[int(match[1])] = float(match[2])
    if not any(weights.values()):
        raise argparse.ArgumentTypeError(f"{text!r} leaves no cages")
    return {size: weight for size, weight in weights.items() if weight}


def _extent(text: str) -> tuple[int, int]:
    """Rows and columns, such as `10x8`; `9` is as many of both."""
    match = re.fullmatch(r"(\d{1,3})(?:[xX](\d{1,3}))?", text)
    if not match:
        raise argparse.ArgumentTypeError(f"{text!r} is no size, such as 9, or of crossing sums 10x8")
    return int(match[1]), int(match[2] or match[1])


def _rule(text: str) -> tuple[str, int | None]:
    """A rule by name, and how much of it; None where that is not said."""
    match = re.fullmatch(r"([^:]*)(?::([1-9]\d{0,2}))?", text)
    if not match:
        raise argparse.ArgumentTypeError(f"{text!r} is no rule, such as rising, or with how many, as rising:4")
    return match[1], int(match[2]) if match[2] else None
