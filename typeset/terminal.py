"""What the commands show in a terminal beside plain lines: tables, and a bar while they work."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Table
from rich.text import Text


def print_rows(titles: Sequence[str], rows: Iterable[Sequence[str]], numbers: Sequence[str],
          stressed: Callable[[Sequence[str]], bool] = lambda _: False) -> None:
    """Print a table; its last column may run over several lines."""
    shown = Table(box=None, pad_edge=False, header_style="bold")
    for title in titles:
        shown.add_column(title, justify="right" if title in numbers else "left", no_wrap=title != titles[-1])
    for row in rows:
        shown.add_row(*map(Text, row), style="bold" if stressed(row) else "")
    console = Console()
    if not console.is_terminal:
        console = Console(width=160)
    console.print(shown)


def progress_bar() -> Progress:
    """A bar on the error stream, and nothing at all where that is not a terminal."""
    console = Console(stderr=True)
    return Progress(BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}"),
                    console=console, transient=True, disable=not console.is_terminal)
