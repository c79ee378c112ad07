"""What may stand after an option on the command line."""

from __future__ import annotations

import argparse


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


def size(text: str) -> tuple[float, float]:
    """Width and height in mm, such as `148x210`."""
    width, found, height = text.lower().partition("x")
    if not found:
        raise argparse.ArgumentTypeError(f"{text} is not a size such as 148x210")
    return positive(width), positive(height)
