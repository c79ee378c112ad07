"""`cagework new`: a folder with a starting book, which builds as it stands."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from pathlib import Path

from cagework.typeset.commands.exits import Exit

LANGUAGES = ("en", "de")
"""Those that there is a starting book in, the first if none is asked for."""


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("folder", metavar="FOLDER", type=Path, help="a folder that is not there yet, or is empty")
    command.add_argument("--language", choices=LANGUAGES, default=LANGUAGES[0],
                         help="of the book and of the comments in its files (default: en)")
    command.add_argument("--title", metavar="TITLE", type=partial(_line, "a title"),
                         help="what your book is called")
    command.add_argument("--by", metavar="NAME", type=partial(_line, "a name"), help="whose book it is")


def run(parsed: argparse.Namespace) -> Exit:
    """Write the files, all or none, and say what to do with them."""
    from cagework.typeset.commands.common import not_written, taken
    from cagework.typeset.commands.terminal import say_next
    from cagework.typeset.faults import counted
    from cagework.typeset.host.files import write_all
    from cagework.typeset.host.locks import TakenError, alone_at
    from cagework.typeset.starter import BOOK, starting_book
    folder: Path = parsed.folder
    files = starting_book(parsed.language, parsed.title, parsed.by)
    try:
        with alone_at(folder):
            if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
                return _refused(folder)
            write_all(folder, files, hold=partial(parsed.interrupts.placing, "the book was written"))
    except TakenError:
        return taken(folder)
    except OSError as error:
        return not_written(error, folder)
    book = folder / BOOK
    print(f"{book}: a book of {counted(len(files) - 1, 'puzzle')}, ready to build")
    say_next((("build", book, "--out", folder / "out"), "writes the book as a PDF"),
             (("desk", book), "shows it in the browser, and each change as you save it"))
    return Exit.FINE


def _refused(folder: Path) -> Exit:
    what = "holds files already" if folder.is_dir() else "is a file"
    print(f"{folder} {what}, and nothing was written: name a folder that is not there yet, or is empty",
          file=sys.stderr)
    return Exit.NOT_WRITTEN


def _line(what: str, text: str) -> str:
    """A title or a name as a manifest may have it."""
    from cagework.typeset.manifest.values import Unfit, one_line
    try:
        return one_line(text)
    except Unfit as error:
        raise argparse.ArgumentTypeError(f"{what} {error}") from None
