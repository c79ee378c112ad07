"""What several commands share at work: who solves for them, and faults on the error stream."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path

from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import Fault, counted, render
from cagework.typeset.host.collector import collect_seldom
from cagework.typeset.host.processes import cores
from cagework.typeset.host.workers import LocalWorkers, Workers
from cagework.typeset.solving.cache import Cache, code_version
from cagework.typeset.solving.crew import Crew


def open_cache(parsed: argparse.Namespace) -> Cache | None:
    """The cache that the command line asks for; None for none."""
    return None if parsed.no_cache else Cache(parsed.cache)


def open_crew(parsed: argparse.Namespace, *, keep: bool = False) -> Crew:
    """Who solves, with the cache that the command line asks for."""
    return Crew(open_cache(parsed), open_workers(parsed), keep=keep)


def open_workers(parsed: argparse.Namespace) -> Workers:
    """Who works: those of the scheduler that the command line names, else all cores. Raises ClusterError."""
    collect_seldom()        # once more: all that was loaded for the work stays
    if address := vars(parsed).get("scheduler"):
        from cagework.typeset.host.cluster import Cluster
        return Cluster(address, code_version)
    return LocalWorkers(cores())


def report(faults: Iterable[Fault]) -> None:
    """Print faults on the error stream."""
    for fault in faults:
        print(render(fault), file=sys.stderr)


def to_mend(faults: Iterable[Fault]) -> Exit:
    """Close a command that wrote nothing for these faults."""
    errors = sum(fault.is_error for fault in faults)
    print(f"nothing was written: {counted(errors, 'fault')} to mend", file=sys.stderr)
    return Exit.FAULTS


def taken(folder: Path) -> Exit:
    """Close a command in whose folder another run writes."""
    report([Fault(folder, "another run is writing into this folder at this moment",
                  "run this one again when that has ended")])
    return Exit.NOT_WRITTEN


def not_written(error: OSError, out: Path) -> Exit:
    """Close a command whose files could not be written under `out`."""
    print(f"cannot write {error.filename or out}: {error.strerror or error}", file=sys.stderr)
    return Exit.NOT_WRITTEN
