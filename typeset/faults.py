"""What is wrong, where, and the way out: a fault as data, and how one is shown to the editor."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from cagework.solver.errors import CageworkError
from cagework.typeset.entry import Place

_QUOTE_LIMIT = 40
_LINE_LIMIT = 100


class Severity(StrEnum):
    """An error stops the book; a warning does not."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong. `where` is a spot in a file, or the file alone where no line is to blame.

    `span` is how many characters of the line from the spot onwards are at fault.
    """

    where: Place | Path
    message: str
    hint: str = ""
    severity: Severity = Severity.ERROR
    span: int = 1

    @property
    def source(self) -> str:
        """The line as it stands in the file; empty where it is not known."""
        return self.where.source if isinstance(self.where, Place) else ""

    @property
    def file(self) -> Path:
        """The file at fault."""
        return self.where.file if isinstance(self.where, Place) else self.where

    @property
    def line(self) -> int:
        """The line from 1; 0 where the whole file is meant."""
        return self.where.line if isinstance(self.where, Place) else 0

    @property
    def column(self) -> int:
        """The character in the line from 1; 0 where the whole file is meant."""
        return self.where.column if isinstance(self.where, Place) else 0

    @property
    def is_error(self) -> bool:
        """Whether the fault stops the book."""
        return self.severity is Severity.ERROR


class FaultsError(CageworkError):
    """Files cannot be used for what is wrong in them; the text has each of `faults` with its place and hint."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        """Carry the faults to whoever asked."""
        self.faults = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(map(render, self.faults))


class UnreadableManifest(FaultsError):  # noqa: N818 - the fault is the error; this says what it did
    """A file that cannot be read as a manifest or as puzzles at all."""

    def __init__(self, fault: Fault) -> None:
        """Carry the fault to the door."""
        super().__init__((fault,))
        self.fault = fault
        self.args = (fault,)


class NotBuilt(FaultsError):  # noqa: N818 - it says what did not happen
    """A book or a series cannot be printed as it is; nothing was written."""


class ClusterError(CageworkError):
    """Machines that were to do the work cannot do it; `lost` are those that did some of it before."""

    def __init__(self, message: str, hint: str, *, lost: bool = False) -> None:
        """Carry the fault to the door."""
        super().__init__(message)
        self.fault = Fault(Path("--scheduler"), message, hint)
        self.lost = lost


class ChoiceError(CageworkError, ValueError):
    """A name or a number that is none of those there are to choose from."""


def in_order(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Faults by file, line and column, each said once."""
    unique = dict.fromkeys(faults)
    return tuple(sorted(unique, key=lambda fault: (str(fault.file), fault.line, fault.column)))


def render(fault: Fault) -> str:
    """`FILE:LINE:COLUMN: message`, the line, a caret line under the spot, and the hint, without a final
    newline. A long line is cut to a window around the spot.
    """
    word = "" if fault.is_error else "warning: "
    if isinstance(fault.where, Path):
        lines = [f"{fault.where}: {word}{fault.message}"]
    else:
        lines = [f"{fault.file}:{fault.line}:{fault.column}: {word}{fault.message}"]
        if fault.source:
            lines += _excerpt(fault.source, fault.column - 1, max(1, fault.span))
    if fault.hint:
        lines.append(f"hint: {fault.hint}")
    return "\n".join(lines)


def _excerpt(source: str, start: int, span: int) -> tuple[str, str]:
    """The line and its caret line, for a spot `start` characters in."""
    left = max(0, start - _LINE_LIMIT // 2) if len(source) > _LINE_LIMIT else 0
    lead = "… " if left else ""
    shown = source[left:left + _LINE_LIMIT]
    tail = " …" if left + _LINE_LIMIT < len(source) else ""
    before = shown[:start - left]
    marked = shown[start - left:start - left + span]
    # A tab keeps its place by being repeated, so that the caret lines up under any tab width.
    pad = "".join("\t" if char == "\t" else " " * _width(char) for char in lead + before)
    return _plain(lead + shown + tail), pad + "^" * max(1, sum(map(_width, marked)))


def _width(char: str) -> int:
    """Terminal columns a character takes (Unicode Standard Annex 11)."""
    if unicodedata.combining(char) or unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1


def _plain(text: str) -> str:
    """Text with control characters, which could steer a terminal, replaced."""
    return "".join("\ufffd" if unicodedata.category(char) == "Cc" and char != "\t" else char for char in text)


def quoted(text: str) -> str:
    """Text in quotes, cut where it is long."""
    short = " ".join(text.split())
    if len(short) > _QUOTE_LIMIT:
        short = short[:_QUOTE_LIMIT - 1] + "…"
    return f"'{_plain(short)}'"


def listed(words: Sequence[object], last: str = "or") -> str:
    """`a`, `a or b`, `a, b or c`."""
    texts = [str(word) for word in words]
    if len(texts) < 2:
        return "".join(texts)
    return f"{', '.join(texts[:-1])} {last} {texts[-1]}"


def counted(count: int, word: str) -> str:
    """`1 cell`, `2 cells`."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def nearest(word: str, choices: Iterable[str]) -> str | None:
    """The choice the editor most likely meant; None where none is near."""
    if len(word) > _QUOTE_LIMIT:
        return None
    import difflib
    by_fold = {choice.casefold(): choice for choice in choices}
    found = difflib.get_close_matches(word.casefold(), by_fold, n=1, cutoff=0.6)
    return by_fold[found[0]] if found else None


def or_else(word: str, choices: Sequence[str]) -> str:
    """A hint for a name that is not one of `choices`: the nearest of them, or else all of them."""
    near = nearest(word, choices)
    if near is not None:
        return f"did you mean {near}?"
    return f"choose {listed(choices)}" if choices else ""
