"""What the commands show beside plain lines: tables, what to do next, and in a terminal a bar while they work."""

from __future__ import annotations

import codecs
import io
import math
import os
import shlex
import sys
import time
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TextIO

_EVERY = 0.1
"""Seconds between two pictures of the bar."""
_SOON = 3.0
"""Seconds before it is said how long the rest will take: earlier nobody asks, and the pace is not known."""
_WIDTH = 160
"""Characters of a line where that is no terminal's to say."""
_READABLE = 100
"""Characters of a line of running text, at most."""
_GAP = "  "
"""Between two columns."""


def escape_unprintable(stream: TextIO | None) -> None:
    """Let a stream print what its encoding lacks as JSON would escape it, so that JSON stays what it is."""
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(errors=_ESCAPE)


def _escaped(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    units = error.object[error.start:error.end].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{high:02x}{low:02x}" for high, low in zip(units[::2], units[1::2], strict=True)), error.end


_ESCAPE = "json-escape"
codecs.register_error(_ESCAPE, _escaped)


def print_rows(titles: Sequence[str], rows: Iterable[Sequence[str]], numbers: Sequence[str],
          stressed: Callable[[Sequence[str]], bool] = lambda _: False, *, whole: bool = False) -> None:
    """Print a table; its last column may run over several lines. With `whole` nothing is cut where it goes to
    another program, however long lines become.
    """
    rows = list(rows)
    lines = None if _may_be_terminal(sys.stdout) else aligned(
        [titles, *rows], {*map(titles.index, numbers)}, None if whole else _WIDTH)
    if lines is not None:
        print(*lines, sep="\n")
        return
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text
    shown = Table(box=None, pad_edge=False, header_style="bold")
    for title in titles:
        shown.add_column(title, justify="right" if title in numbers else "left", no_wrap=title != titles[-1])
    for row in rows:
        shown.add_row(*map(Text, row), style="bold" if stressed(row) else "")
    console = Console()
    if not console.is_terminal:
        console = Console(width=_room([titles, *rows]) if whole else _WIDTH)
    console.print(shown)


def _room(rows: Sequence[Sequence[str]]) -> int:
    """How wide a table is of which nothing is cut."""
    from rich.cells import cell_len
    columns = [max(map(cell_len, column)) for column in zip(*rows, strict=True)]
    return sum(columns) + len(_GAP) * (len(columns) - 1)


def aligned(
    rows: Sequence[Sequence[str]], right: Container[int], widest: int | None = _WIDTH,
) -> list[str] | None:
    """Rows as rich sets them, without loading it, with the columns at `right` flush right; None where it may do
    more: break lines, cut those over `widest` characters, or measure characters of another width.
    """
    every = [cell for row in rows for cell in row]
    if not all(cell.isascii() and cell.isprintable() and cell == cell.strip() for cell in every):
        return None
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    if widest is not None and sum(widths) + len(_GAP) * (len(widths) - 1) > widest:
        return None
    return [_GAP.join(cell.rjust(width) if place in right else cell.ljust(width)
                      for place, (cell, width) in enumerate(zip(row, widths, strict=True))) for row in rows]


def print_markdown(text: str) -> None:
    """Print Markdown: set for reading in a terminal, and as it is written for another program or a file."""
    if not _may_be_terminal(sys.stdout):
        print(text, end="")
        return
    from rich.console import Console
    from rich.markdown import Markdown
    from rich.theme import Theme
    console = Console(theme=Theme({"markdown.code": "bold"}))
    shown = Markdown(text, code_theme="bw") if console.is_terminal else text
    console.print(shown, width=min(console.width, _READABLE))


def say_next(*steps: tuple[Sequence[object], str]) -> None:
    """Say in a terminal what to do next: the words after `cagework`, and what that does, a line each. It goes to
    the error stream, and nowhere where that is another program's to read.
    """
    if not steps or sys.stderr is None or not sys.stderr.isatty():
        return
    lines = [(f"cagework {shlex.join(map(str, words))}", does) for words, does in steps]
    width = max(len(command) for command, _ in lines)
    for number, (command, does) in enumerate(lines):
        print("     " if number else "next:", command.ljust(width), "", does, file=sys.stderr)


@contextmanager
def progress(total: int | None) -> Iterator[Callable[[str], None]]:
    """A bar on the error stream, and nothing at all where that is not a terminal: what is yielded moves it on by
    one and says what was done. It has no thread of its own, for a process with threads could not fork.
    """
    if not _may_be_terminal(sys.stderr):
        yield lambda _done: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
    console = Console(stderr=True)
    shown = 0.0
    count, start = 0, time.monotonic()

    def advance(done: str) -> None:
        nonlocal shown, count
        count += 1
        left = time_left(count, total, time.monotonic() - start)
        bar.update(task, advance=1, description=f"{done}, {left}" if left else done)
        if time.monotonic() - shown > _EVERY:
            bar.refresh()
            shown = time.monotonic()

    with Progress(BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}"), console=console,
                  transient=True, auto_refresh=False, disable=not console.is_terminal) as bar:
        task = bar.add_task("", total=total)
        bar.refresh()
        yield advance


def time_left(done: int, total: int | None, passed: float) -> str:
    """How long the rest takes at the pace so far, `passed` in seconds, in round figures; nothing in the first
    seconds, or where it is not known how much there is to do.
    """
    if total is None or not 0 < done < total or passed < _SOON:
        return ""
    left = passed * (total - done) / done
    if left < 60:
        return f"about {math.ceil(left / 5) * 5} s left"
    if left < 90 * 60:
        return f"about {round(left / 60)} min left"
    return f"about {round(left / 3600)} h left"


def _may_be_terminal(stream: TextIO | None) -> bool:
    """Whether rich, which takes long to load, might show more than plain lines there; it has the last word."""
    return stream is not None and (
        stream.isatty() or any(name in os.environ for name in ("FORCE_COLOR", "TTY_COMPATIBLE")))


def points(score: float | None) -> str:
    """A score as it is shown, in whole points, so that none seems to reach a limit it is under; empty for none."""
    return "" if score is None else str(int(score))
