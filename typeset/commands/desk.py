"""`cagework desk`: the book in the browser."""

from __future__ import annotations

import argparse
import os
import sys

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, add_out, book, port


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("manifest", metavar="BOOK.yaml", type=book,
                         help="the manifest of the book (what it is, and its puzzles), or its folder")
    command.add_argument("--port", metavar="N", type=port, default=0,
                         help="the number in the page's address, 127.0.0.1:N (default: any that is free)")
    command.add_argument("--open", action="store_true", help="open the page in the browser at once")
    command.add_argument("--read-only", action="store_true",
                         help="show the book, and let nothing be drawn or saved")
    add_out(command)
    command.add_argument("--editor", metavar="COMMAND", default=os.environ.get("CAGEWORK_EDITOR"),
                         help="what opens a file of the book, as 'my-editor {file}:{line}' (default: what "
                              "CAGEWORK_EDITOR says)")
    add_budget(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Serve until the editor has enough."""
    from cagework.typeset.commands.common import open_crew
    from cagework.typeset.desk.opening import NoCommand
    from cagework.typeset.desk.session import PortTaken, run_desk
    try:
        with open_crew(parsed, keep=True) as crew:
            run_desk(parsed.manifest, crew, parsed.seconds, parsed.port, parsed.out,
                     open_page=parsed.open, read_only=parsed.read_only, editor=parsed.editor)
    except (NoCommand, PortTaken) as error:
        print(error, file=sys.stderr)
        return Exit.USAGE
    return Exit.FINE
