"""Templates of sentences taken to pieces, and what agrees with a value in number."""

from __future__ import annotations

from functools import lru_cache
from string import Formatter

from cagework.solver.model import Cell
from cagework.solver.step import Block, Digits, Value


@lru_cache(maxsize=1024)
def parts(template: str) -> tuple[tuple[str, str | None, str], ...]:
    """What a template is made of: text, then the name and form of the blank after it; None at the end."""
    return tuple([(literal, name, form or "") for literal, name, form, _ in Formatter().parse(template)])


def count(value: Value | str) -> int:
    """How many things a value names."""
    match value:
        case Block():       # several runs are added up
            return 2
    if not isinstance(value, int | tuple | Digits) or isinstance(value, Cell):
        return 1
    return value if isinstance(value, int) else len(value)


def sentence(text: str) -> str:
    """The text with a capital; a cell's name keeps its small letter."""
    return text if text[1:2].isdigit() else text[:1].upper() + text[1:]
