"""`cagework schema`: what a manifest may say, for an editor's YAML plug-in."""

from __future__ import annotations

import argparse

from cagework.typeset.commands.exits import Exit


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("--series", action="store_true", help="a series manifest's instead of a book's")


def run(parsed: argparse.Namespace) -> Exit:
    """Print it."""
    import json

    from cagework.typeset.columns.schema import series_schema
    from cagework.typeset.manifest.schema import schema
    print(json.dumps(series_schema() if parsed.series else schema(), indent=2, ensure_ascii=False))
    return Exit.FINE
