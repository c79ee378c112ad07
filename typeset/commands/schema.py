"""`cagework schema`: what a manifest may say, for an editor's YAML plug-in."""

from __future__ import annotations

import argparse

from cagework.typeset.commands.exits import Exit


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    instead = command.add_mutually_exclusive_group()
    instead.add_argument("--series", action="store_true", help="for a series manifest instead of a book's")
    instead.add_argument("--recipe", action="store_true", help="for a recipe that picks from a pool")


def run(parsed: argparse.Namespace) -> Exit:
    """Print it."""
    import json
    if parsed.recipe:
        from cagework.typeset.pool.recipe import recipe_schema as schema
    elif parsed.series:
        from cagework.typeset.columns.schema import series_schema as schema
    else:
        from cagework.typeset.manifest.schema import schema
    print(json.dumps(schema(), indent=2, ensure_ascii=False))
    return Exit.FINE
