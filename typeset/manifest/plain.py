"""A puzzle that is plainly right, read without the model of all keys, which takes long to load.

What is taken here the model would take, and make the same of; whatever it might find fault with is left to it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from cagework.solver.reasoning.grade import Grade
from cagework.typeset.choices import Kind
from cagework.typeset.entry import Solutions
from cagework.typeset.manifest.values import (
    Unfit,
    as_text,
    chosen,
    givens,
    grid_size,
    identifier,
    named,
    one_line,
    prose,
    texts,
)


@dataclass(frozen=True, slots=True)
class PlainCage:
    """A cage of a list of cages, as `schema.CagePart`."""

    cells: tuple[str, ...]
    sum: int | None = None


@dataclass(frozen=True, slots=True)
class PlainPuzzle:
    """A puzzle's keys, as `schema.PuzzlePart`."""

    id: str
    title: str | None = None
    by: str | None = None
    grade: Grade | None = None
    note: str | None = None
    remark: str | None = None
    size: int = 9
    map: str | None = None
    sums: dict[str, int | None] | None = None
    cages: list[PlainCage] | None = None
    givens: str | dict[str, int] | None = None
    houses: list[str | dict[str, object]] | None = None
    rules: list[str | dict[str, object]] | None = None
    solutions: Solutions | None = None
    regions: str | None = None
    short_title: str | None = None
    kind: Kind | None = None
    across: list[int | None] | None = None
    down: list[int | None] | None = None
    answer: str | None = None


Reader = Callable[[Any], object]
"""A value as it is meant; raises Unfit where it might be wrong."""


def _written(value: object) -> str:
    if isinstance(value, str):
        return value
    raise Unfit("must be text")


def _texts_of(read: Callable[[str], str]) -> Reader:
    return lambda value: read(_written(as_text(value)))


def _whole(value: object) -> int:
    if isinstance(value, int) and not isinstance(value, bool):
        return int(value)
    raise Unfit("must be a whole number")


def _sum(value: object) -> int | None:
    return None if value is None else _whole(value)


def _list_of(read: Reader) -> Reader:
    def read_all(value: object) -> list[object]:
        if isinstance(value, list):
            return [read(item) for item in value]
        raise Unfit("must be a list")

    return read_all


def _sums(value: object) -> dict[str, int | None]:
    if isinstance(value, dict):
        return {letter: _sum(total) for letter, total in value.items()}
    raise Unfit("must be keys with values")


def _cage(value: object) -> PlainCage:
    if isinstance(value, dict) and "cells" in value and value.keys() <= {"cells", "sum"}:
        return PlainCage(texts(value["cells"]), _sum(value.get("sum")))
    raise Unfit("must be a cage")


_NEEDED: Mapping[str, Reader] = MappingProxyType({
    "id": _texts_of(identifier), "size": lambda value: grid_size(_whole(value))})
_OTHERS: Mapping[str, Reader] = MappingProxyType({
    "title": _texts_of(one_line),
    "by": _texts_of(one_line),
    "short_title": _texts_of(one_line),
    "grade": lambda value: chosen(Grade, "grade")(_written(value)),
    "note": _texts_of(prose),
    "remark": _texts_of(prose),
    "map": _written,
    "sums": _sums,
    "cages": _list_of(_cage),
    "givens": givens,
    "houses": _list_of(named),
    "rules": _list_of(named),
    "solutions": lambda value: chosen(Solutions, "kind of solution")(_written(value)),
    "regions": _written,
    "kind": lambda value: chosen(Kind, "kind of puzzle")(_written(value)),
    "across": _list_of(_sum),
    "down": _list_of(_sum),
    "answer": _written,
})
"""Those that may also stand there with nothing beside them."""

KEYS = _NEEDED.keys() | _OTHERS.keys()
"""The keys of a puzzle."""


def plain_puzzle(data: object) -> PlainPuzzle | None:
    """The puzzle; None where something may be wrong with its keys or their values."""
    if not isinstance(data, dict) or not {"id"} <= data.keys() <= KEYS:
        return None
    try:
        return PlainPuzzle(**{key: _read(key, value) for key, value in data.items()})
    except Unfit:
        return None


def plain_cage(data: object) -> PlainCage | None:
    """A cage of a list; None where something may be wrong with it."""
    try:
        return _cage(data)
    except Unfit:
        return None


def _read(key: str, value: object) -> Any:
    if key in _NEEDED:
        return _NEEDED[key](value)
    return None if value is None else _OTHERS[key](value)
