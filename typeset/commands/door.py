"""The command line parsed, one command run, and its exit status. A door: nothing imports it.

Of the commands only one that is named is loaded; it declares its arguments and loads what it works with when it
runs.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Collection, Mapping, Sequence
from functools import partial
from importlib import import_module
from keyword import iskeyword
from types import MappingProxyType
from typing import NoReturn, TextIO

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import escape_unprintable
from cagework.typeset.host.collector import collect_seldom
from cagework.typeset.host.interrupts import Interrupts

COMMANDS: Mapping[str, str] = MappingProxyType({
    "new": "write a starting book, which builds as it stands",
    "build": "check every puzzle and write the book",
    "check": "check every puzzle and print a table",
    "explain": "print a puzzle's worked solution, step by step",
    "tune": "find the smallest changes that make a puzzle what it should be",
    "compose": "make new puzzles to a recipe, as puzzle files",
    "import": "make puzzle files of tables, texts and JSON",
    "export": "write puzzles, answers, paths and pictures for a web page or a spreadsheet",
    "preflight": "say what a press would refuse in a PDF",
    "columns": "fit a series of puzzles into newspaper slots, date by date",
    "pool": "say what puzzles a folder has, and which of them are asked for",
    "desk": "show the book in the browser, and each change as it is saved",
    "schema": "print what a manifest may hold, for a text editor that checks it as you type",
    "manual": "say how all this is used, topic by topic",
    "completion": "print a script that has a shell complete commands and options",
})
"""Name -> what `--help` says of it. Its module can `declare` the command's arguments and `run` it."""

_COMMANDS_IN_SHORT = "\n".join([
    "usage: cagework COMMAND", "", *(f"  {name:11} {summary}" for name, summary in COMMANDS.items()), "",
    "What a command takes: cagework COMMAND --help", "How it is all used: cagework manual"])
"""Said where no command is named."""

VERSION = "0.1.0"
"""As pyproject.toml has it: asking what is installed takes longer than all else that `--version` does."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        print(f"cagework: {message}", file=sys.stderr)
        raise SystemExit(Exit.USAGE)


def main(arguments: Sequence[str] | None = None, *, last: bool = False) -> int:
    """Run one command and return its exit status. With `last`, the process is to end and hears no more signals."""
    interrupts = Interrupts()
    with interrupts.heard(last=last):
        try:
            status = _run(arguments, interrupts)
        except KeyboardInterrupt:
            interrupts.asked = True
        if not interrupts.asked:
            return status
        _say(interrupts.said)
        return Exit.INTERRUPTED


def _run(arguments: Sequence[str] | None, interrupts: Interrupts) -> int:
    try:
        escape_unprintable(sys.stdout)
        try:
            words = sys.argv[1:] if arguments is None else arguments
            if not words:
                _say(_COMMANDS_IN_SHORT)
                return Exit.USAGE
            parsed = parser(words).parse_args(words)
            parsed.interrupts = interrupts
            parsed.words = tuple(words)
            parsed.parser = partial(parser, COMMANDS)
            return _worked(parsed)
        finally:
            if sys.stdout is not None:
                sys.stdout.flush()      # what cannot be printed is noticed here, not when the process ends
    except BrokenPipeError:    # whoever read our output has read enough, as `head` does
        _hush(sys.stdout)
        return Exit.FINE
    except OSError as error:
        _hush(sys.stdout)
        wrote = f"; {interrupts.written}" if interrupts.written else ""
        _say(f"cannot write {error.filename or 'what there is to say'}: {error.strerror or error}{wrote}")
        return Exit.NOT_WRITTEN


def _worked(parsed: argparse.Namespace) -> int:
    """Put right what earlier runs left unfinished, and have the command do its work."""
    from cagework.typeset.faults import ClusterError, UnreadableManifest, render
    from cagework.typeset.host import unfinished
    if unfinished.notes():
        from cagework.typeset.columns import store
        from cagework.typeset.host import files
        for folder in unfinished.mend_all({files.KIND: files.mend, store.KIND: store.mend}):
            print(f"{folder}: what an earlier run left unfinished was put right", file=sys.stderr)
    collect_seldom()
    try:
        return int(parsed.run(parsed))
    except UnreadableManifest as error:
        _say(render(error.fault))
        return Exit.UNREADABLE
    except ClusterError as error:
        _say(render(error.fault))
        return Exit.NOT_WRITTEN if error.lost else Exit.USAGE


def _say(line: str) -> None:
    try:
        print(line, file=sys.stderr, flush=True)
    except OSError:     # the disk under the error stream may be full too
        _hush(sys.stderr)


def _hush(stream: TextIO) -> None:
    """Let what is still to be printed go nowhere."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def module_of(name: str) -> str:
    """The module of a command: that of its name, with a line after it where Python has the word for itself."""
    return f"cagework.typeset.commands.{name}{'_' if iskeyword(name) else ''}"


def parser(words: Collection[str]) -> argparse.ArgumentParser:
    """The command line, with the arguments of those commands alone that are named among its words."""
    top = _Parser(prog="cagework", description="Check cage-sum puzzles and print them as a book.",
                  epilog="How it is all used: cagework manual")
    top.add_argument("--version", action="version", version=f"cagework {VERSION}")
    commands = top.add_subparsers(metavar="COMMAND", required=True, parser_class=_Parser)
    for name, summary in COMMANDS.items():
        own = commands.add_parser(name, help=summary)
        if name in words:
            command = import_module(module_of(name))
            command.declare(own)
            own.set_defaults(run=command.run)
    return top
