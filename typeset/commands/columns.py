"""`cagework columns`: a series of puzzles fitted into newspaper slots."""

from __future__ import annotations

import argparse
from pathlib import Path

from cagework.typeset.choices import SvgText
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("manifest", metavar="SERIES.yaml", type=Path,
                         help="the manifest of the series: its dates, its puzzles, its slots")
    command.add_argument("--out", metavar="DIR", type=Path, default=Path("columns"),
                         help="folder to write into, of this series alone (default: columns)")
    command.add_argument("--svg-text", choices=list(SvgText), type=SvgText,
                         help="words in SVG files as outlines, or as text that can be changed (default: as the "
                              "manifest says)")
    add_budget(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read the series, make its columns, and say what was written."""
    from cagework.typeset.commands.fitted import fit
    return fit(parsed, parsed.manifest, parsed.out, parsed.svg_text)
