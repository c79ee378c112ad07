"""What a YAML file holds, each value with its place: texts, lists, mappings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import yaml

KeyPath = tuple[str | int, ...]
"""Keys and list positions (from 0) that lead from the top of a document to a value."""

_INT = re.compile(r"[-+]?[0-9]{1,18}")
_FLOAT = re.compile(r"[-+]?(\.[0-9]{1,18}|[0-9]{1,18}(\.[0-9]{0,18})?)([eE][-+]?[0-9]{1,3})?")
_WORDS: dict[str, bool | None] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}

QUOTES = ("'", '"')
"""The styles of a quoted scalar."""


@dataclass(frozen=True, slots=True)
class Violation:
    """One thing wrong at a key path; `at_key` where the key itself is to blame, not its value."""

    path: KeyPath
    message: str
    hint: str = ""
    at_key: bool = False


class WrittenInt(int):
    """A whole number that remembers how it was written."""

    text: str


class WrittenFloat(float):
    """A number with a fraction that remembers how it was written."""

    text: str


@dataclass(frozen=True, slots=True)
class Spot:
    """A run of characters of a document: offset from 0, and length."""

    start: int
    length: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Scalar:
    """A text, number, truth value or nothing; `text` as parsed, `style` as in YAML events. `verbatim` tells
    whether the file has the text letter by letter, without escapes or folded lines.
    """

    spot: Spot
    text: str
    value: object
    style: str
    verbatim: bool = False
    weight: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Sequence:
    """A list."""

    spot: Spot
    items: tuple[Node, ...]
    weight: int


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """A mapping: key text -> (where the key stands, value)."""

    spot: Spot
    entries: Mapping[str, tuple[Spot, Node]]
    weight: int


Node = Scalar | Sequence | Pairs


def extent(event: yaml.Event) -> tuple[int, int]:
    """The offsets an event spans."""
    start, end = event.start_mark, event.end_mark
    return (start.index if start else 0), (end.index if end else 0)


def scalar(event: yaml.ScalarEvent, source: str) -> Scalar:
    """A scalar, its value by the core schema."""
    text = event.value
    start, end = extent(event)
    style = event.style or ""
    length = 1 if style in ("|", ">") else max(1, end - start)
    value = _value(text) if style == "" and event.tag is None else text
    verbatim = text != "" and source.startswith(text, start + (style in QUOTES))
    return Scalar(Spot(start, length), text, value, style, verbatim)


def text_at(spot: Spot, text: str, *, verbatim: bool = False) -> Scalar:
    """A text that stands somewhere in a file of another kind; `verbatim` as for any scalar."""
    return Scalar(spot, text, text, "", verbatim)


def pairs_at(spot: Spot, entries: Mapping[str, Node]) -> Pairs:
    """A mapping put together from such values; each key stands where its value does."""
    return Pairs(spot, {key: (value.spot, value) for key, value in entries.items()},
                 1 + sum(value.weight for value in entries.values()))


def sequence_at(spot: Spot, items: Iterable[Node]) -> Sequence:
    """A list put together from such values."""
    listed = tuple(items)
    return Sequence(spot, listed, 1 + sum(item.weight for item in listed))


def plain_scalar(spot: Spot, text: str) -> Scalar:
    """A scalar that is written without quotes, within other words that stand at a spot."""
    return Scalar(spot, text, _value(text), "")


def _value(text: str) -> object:
    """A plain scalar by the core schema."""
    if text in _WORDS:
        return _WORDS[text]
    if _INT.fullmatch(text):
        whole = WrittenInt(text)
        whole.text = text
        return whole
    if _FLOAT.fullmatch(text):
        number = WrittenFloat(text)
        number.text = text
        return number
    return text
