"""The command line parsed, one command run, and its exit status. A door: nothing imports it."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Mapping, Sequence
from types import MappingProxyType, ModuleType
from typing import NoReturn

from cagework.typeset.commands import build, check, columns, desk, explain, preflight, schema
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import UnreadableManifest, render
from cagework.typeset.host.collector import collect_seldom

COMMANDS: Mapping[str, ModuleType] = MappingProxyType({
    "build": build, "check": check, "explain": explain, "preflight": preflight, "columns": columns, "desk": desk,
    "schema": schema,
})
"""Name -> module, as `--help` lists them: each has a `SUMMARY`, can `declare` its arguments, and can `run`."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        print(f"cagework: {message}", file=sys.stderr)
        raise SystemExit(Exit.USAGE)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    parsed = parser().parse_args(arguments)
    collect_seldom()
    try:
        return int(parsed.run(parsed))
    except UnreadableManifest as error:
        print(render(error.fault), file=sys.stderr)
        return Exit.UNREADABLE
    except BrokenPipeError:    # whoever read our output has read enough, as `head` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.FINE
    except KeyboardInterrupt:
        print("stopped; nothing was written", file=sys.stderr)
        return Exit.INTERRUPTED


def parser() -> argparse.ArgumentParser:
    """The command line, as `--help` prints it and as the README's table is held to."""
    top = _Parser(prog="cagework", description="Check cage-sum puzzles and print them as a book.")
    commands = top.add_subparsers(metavar="COMMAND", required=True, parser_class=_Parser)
    for name, command in COMMANDS.items():
        own = commands.add_parser(name, help=command.SUMMARY)
        command.declare(own)
        own.set_defaults(run=command.run)
    return top
