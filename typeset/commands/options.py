"""Options that mean the same for several commands, and what may stand after an option."""

from __future__ import annotations

import argparse
import datetime as dt
from pathlib import Path

_SECONDS = 60.0


def book(text: str) -> Path:
    """A file; of a folder with a `book.yaml`, this."""
    path = Path(text)
    return inside if (inside := path / "book.yaml").is_file() else path


def port(text: str) -> int:
    """A TCP port; 0 stands for any free one."""
    number = int(text)
    if not 0 <= number < 65536:
        raise argparse.ArgumentTypeError(f"{text} is not a port: ports run from 0 to 65535")
    return number


def positive(text: str) -> float:
    """A number above 0."""
    value = float(text)
    if not 0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"{text} is not a positive number")
    return value


def whole(text: str) -> int:
    """A whole number above 0."""
    value = int(text)
    if value < 1:
        raise argparse.ArgumentTypeError(f"{text} is not a positive number")
    return value


def day(text: str) -> dt.date:
    """A date, such as `2027-03-01`."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text} is not a date such as 2027-03-01") from None


def size(text: str) -> tuple[float, float]:
    """Width and height in mm, such as `148x210`."""
    width, found, height = text.lower().partition("x")
    if not found:
        raise argparse.ArgumentTypeError(f"{text} is not a size such as 148x210")
    return positive(width), positive(height)


def add_out(command: argparse.ArgumentParser) -> None:
    """Where a book's files go."""
    command.add_argument("--out", metavar="DIR", type=Path, default=Path("out"),
                         help="folder to write into (default: out)")


def add_budget(command: argparse.ArgumentParser) -> None:
    """How long one puzzle may take."""
    command.add_argument("--seconds", metavar="N", type=positive, default=_SECONDS,
                         help=f"give up on a puzzle after N seconds (default: {_SECONDS:g})")


def add_scheduler(command: argparse.ArgumentParser) -> None:
    """Who solves."""
    command.add_argument("--scheduler", metavar="ADDRESS",
                         help="solve on other machines, too, by the Dask scheduler at this address, as "
                              "tcp://10.0.0.5:8786 (default: on this one alone; needs cagework[dask])")


def add_cache(command: argparse.ArgumentParser) -> None:
    """Where what was found is kept."""
    command.add_argument("--cache", metavar="DIR", type=Path,
                         help="folder that keeps what was found of each puzzle for the next time (default: one "
                              "of your own)")
    command.add_argument("--no-cache", action="store_true", help="solve every puzzle anew and keep nothing")
