"""Keys of a puzzle to YAML, in the style of the sample books: grids as blocks, sums in rows, cages one a line."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping

import yaml

_WIDE = 100
"""How long a line may get (characters)."""
_ROW = 9
"""How many to a row a mapping has that is longer than that."""
_WIDEST = 1_000_000
"""PyYAML's own line breaks are not wanted."""


def emitted(keys: Mapping[str, object]) -> str:
    """A whole puzzle, a key after the other, with a final newline."""
    return "".join(entry(key, value, 0) + "\n" for key, value in keys.items())


def emitted_list(puzzles: Iterable[Mapping[str, object]]) -> str:
    """Several puzzles as a file of them."""
    items = ("\n    ".join(entry(key, value, 4) for key, value in keys.items()) for keys in puzzles)
    return "puzzles:\n" + "".join(f"  - {item}\n" for item in items)


def entry(key: str, value: object, indent: int) -> str:
    """A key and its value in a block mapping that stands so many columns in, the first line without them."""
    return f"{flow(key)}:{tail(value, indent, len(key) + 1)}"


def tail(value: object, indent: int, before: int = 0) -> str:
    """What stands after a key's colon: a blank and the value, or the value on lines of its own.

    `indent` is the key's column, `before` how long it is with its colon.
    """
    room = _WIDE - indent - before - 1
    match value:
        case str() if "\n" in value.strip("\n") and _fits_a_block(value):
            return " |\n" + block(value, " " * (indent + 2))
        case str():
            return " " + _scalar(value)
        case Mapping() | list() if len(line := flow(value)) <= room and not _holds_mappings(value):
            return " " + line
        case Mapping():
            return " " + _rows(value, indent)
        case list():
            return "".join(f"\n{' ' * (indent + 2)}- {item(one, indent + 4)}" for one in value)
        case _:
            return " " + flow(value)


def item(value: object, indent: int) -> str:
    """An item of a block list whose items begin so many columns in."""
    if isinstance(value, Mapping) and len(value) == 1:
        (name, inner), = value.items()
        if isinstance(inner, list) and len(flow(value)) > _WIDE - indent:
            lines = "".join(f"\n{' ' * indent}- {flow(one)}" for one in inner)
            return f"{flow(name)}:{lines}"
        return f"{flow(name)}: {flow(inner)}"
    return flow(value)


def flow(value: object) -> str:
    """Any value on one line, as it may stand in brackets."""
    match value:
        case Mapping():
            return "{" + ", ".join(f"{flow(str(key))}: {flow(one)}" for key, one in value.items()) + "}"
        case list() | tuple():
            return "[" + ", ".join(map(flow, value)) + "]"
        case str() if "\n" in value:
            return json.dumps(value, ensure_ascii=False)
        case str():
            return str(yaml.safe_dump([value], allow_unicode=True, width=_WIDEST, default_flow_style=True))[1:-2]
        case None:
            return "~"
        case bool():
            return "true" if value else "false"
        case _:
            return str(getattr(value, "text", value))


def block(text: str, indent: str) -> str:
    """The lines of a literal block, without the last newline."""
    return "\n".join(indent + line if line.strip() else "" for line in text.strip("\n").split("\n"))


def _scalar(text: str) -> str:
    if "\n" in text:
        return json.dumps(text, ensure_ascii=False)
    return str(yaml.safe_dump({"k": text}, allow_unicode=True, width=_WIDEST))[3:-1]


def _fits_a_block(text: str) -> bool:
    """Whether a literal block says the text, but for newlines before and after."""
    return text.strip("\n")[:1] not in (" ", "\t") and all(
        char == "\n" or char.isprintable() for char in text) and not any(
            line.isspace() for line in text.split("\n"))


def _holds_mappings(value: object) -> bool:
    return isinstance(value, list) and any(isinstance(one, Mapping) for one in value)


def _rows(value: Mapping[str, object], indent: int) -> str:
    """A long mapping, broken into rows."""
    pad = " " * (indent + 2)
    words = [f"{flow(str(key))}: {flow(one)}" for key, one in value.items()]
    lines = [", ".join(words[first:first + _ROW]) for first in range(0, len(words), _ROW)]
    return "{\n" + ",\n".join(pad + line for line in lines) + "\n" + " " * indent + "}"
