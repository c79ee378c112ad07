"""The editor's own program, run on this machine with a file and a line of the book."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import tempfile
import threading
from dataclasses import dataclass
from pathlib import Path
from subprocess import DEVNULL, STDOUT
from typing import IO

from cagework.typeset.desk.guard import Refused
from cagework.typeset.faults import quoted

_PATIENCE = 1.5
"""Seconds in which a command may still say that it failed; after that it is taken for a window that is open."""
_MOST_SAID = 600
"""How many characters of what it said are shown."""


class NoCommand(Exception):  # noqa: N818 - it says what is the matter
    """A command that cannot be run. The text says why."""


@dataclass(frozen=True, slots=True)
class Editor:
    """A command by its words, in which {file}, {line} and {column} stand for the place to open."""

    words: tuple[str, ...]

    @property
    def name(self) -> str:
        """The program's name."""
        return Path(self.words[0]).stem

    def arguments(self, file: Path, line: int, column: int) -> list[str]:
        """The words for a place; a file that none of them names comes last. No shell ever reads them."""
        said = {"file": str(file.absolute()), "line": str(line), "column": str(column)}
        words = [re.sub(r"\{(file|line|column)\}", lambda found: said[found[1]], word) for word in self.words]
        return words if any("{file}" in word for word in self.words) else [*words, said["file"]]

    def open(self, file: Path, line: int, column: int) -> None:
        """Run it, without waiting for its end. Raises Refused with its own words where it fails at once."""
        with tempfile.TemporaryFile() as said:
            try:
                running = subprocess.Popen(self.arguments(file, line, column), stdin=DEVNULL, stdout=said,
                                           stderr=STDOUT, start_new_session=True)
            except OSError as error:
                raise Refused(500, f"cannot run {quoted(self.name)}: {error.strerror or error}") from error
            try:
                status = running.wait(_PATIENCE)
            except subprocess.TimeoutExpired:
                threading.Thread(target=running.wait, daemon=True).start()      # or it would stay as a zombie
                return
            if status:
                raise Refused(500, f"{quoted(self.name)} failed with {status}{_words_of(said)}")


def editor_of(command: str | None) -> Editor | None:
    """The editor that a command is, words in quotes being one; None where there is none. Raises NoCommand."""
    try:
        words = tuple(shlex.split(command or ""))
    except ValueError as error:
        raise NoCommand(f"the editor's command has a quotation mark without another: {command}") from error
    if not words:
        return None
    if shutil.which(words[0]) is None:
        raise NoCommand(f"there is no program {quoted(words[0])} to be the editor")
    return Editor(words)


def _words_of(said: IO[bytes]) -> str:
    said.seek(0)
    text = " ".join(said.read(8 * _MOST_SAID).decode("utf-8", "replace").split())
    return f": {text[:_MOST_SAID]}" if text else ""
