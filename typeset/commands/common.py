"""What several commands share: options that mean the same everywhere, and faults on the error stream."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import positive
from cagework.typeset.faults import Fault, counted, render
from cagework.typeset.host.parallel import cores
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.crew import Crew

_SECONDS = 60.0


def add_budget(command: argparse.ArgumentParser) -> None:
    """How long one puzzle may take."""
    command.add_argument("--seconds", metavar="N", type=positive, default=_SECONDS,
                         help=f"give up on a puzzle after N seconds (default: {_SECONDS:g})")


def add_cache(command: argparse.ArgumentParser) -> None:
    """Where what was found is kept."""
    command.add_argument("--cache", metavar="DIR", type=Path,
                         help="folder where what was found of each puzzle is kept (default: the user's own)")
    command.add_argument("--no-cache", action="store_true", help="solve every puzzle anew and keep nothing")


def open_cache(parsed: argparse.Namespace) -> Cache | None:
    """The cache that the command line asks for; None for none."""
    return None if parsed.no_cache else Cache(parsed.cache)


def open_crew(parsed: argparse.Namespace, *, keep: bool = False) -> Crew:
    """Who solves, on all cores, with the cache that the command line asks for."""
    return Crew(open_cache(parsed), cores(), keep=keep)


def report(faults: Iterable[Fault]) -> None:
    """Print faults on the error stream."""
    for fault in faults:
        print(render(fault), file=sys.stderr)


def to_mend(faults: Iterable[Fault]) -> Exit:
    """Close a command that wrote nothing for these faults."""
    errors = sum(fault.is_error for fault in faults)
    print(f"nothing was written: {counted(errors, 'fault')} to mend", file=sys.stderr)
    return Exit.FAULTS


def not_written(error: OSError, out: Path) -> Exit:
    """Close a command whose files could not be written under `out`."""
    print(f"cannot write {error.filename or out}: {error.strerror or error}", file=sys.stderr)
    return Exit.NOT_WRITTEN
