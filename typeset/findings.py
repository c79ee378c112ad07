"""Data to typed parts: what the model finds wrong, by key path and in plain words, and what is right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from cagework.typeset.faults import listed, nearest, quoted
from cagework.typeset.schema import BookPart, CagePart, Manifest, Part, PuzzlePart, SectionPart
from cagework.typeset.yamlmap import KeyPath

_PARTS: dict[str, type[Part]] = {
    "book": BookPart, "sections": SectionPart, "puzzles": PuzzlePart, "cages": CagePart,
}
"""Key -> the part that stands under it, or whose list does."""

_WANTED = {
    "string_type": "text",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "list_type": "a list",
    "dict_type": "a mapping",
    "model_type": "a mapping",
    "tuple_type": "a list",
}
"""Pydantic's kinds of fault -> what was wanted."""

P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong at a key path; `at_key` where the key itself is to blame, not its value."""

    path: KeyPath
    message: str
    hint: str = ""
    at_key: bool = False


def findings(kind: type[Part], data: object) -> tuple[Finding, ...]:
    """Everything wrong with data that should be this part."""
    try:
        kind.model_validate(data)
    except ValidationError as error:
        return tuple(_without_echoes(kind, error.errors(include_url=False)))
    return ()


def salvage(kind: type[P], data: Mapping[str, Any]) -> P:
    """The part with every field that is right. A field that is missing or wrong stands at its default,
    or is None where it has none: only for finding further faults in a part that already has some.
    """
    part = kind.model_construct(
        **dict.fromkeys(name for name, info in kind.model_fields.items() if info.is_required()))
    for name in kind.model_fields.keys() & data.keys():
        try:
            kind.__pydantic_validator__.validate_assignment(part, name, data[name])
        except ValidationError:
            continue
    return part


def _without_echoes(kind: type[Part], errors: list[ErrorDetails]) -> Iterator[Finding]:
    """A misspelt key is one fault: the key it should have been is not reported missing as well."""
    meant = set()
    for error in errors:
        if error["type"] == "extra_forbidden":
            *above, key = error["loc"]
            near = nearest(str(key), _part_at(kind, tuple(above)).model_fields)
            meant.add((*above, near))
    for error in errors:
        if error["type"] != "missing" or error["loc"] not in meant:
            yield _finding(kind, error)


def _part_at(kind: type[Part], path: KeyPath) -> type[Part]:
    keys = [key for key in path if isinstance(key, str)]
    return _PARTS[keys[-1]] if keys else kind


def _finding(kind: type[Part], error: ErrorDetails) -> Finding:
    path = error["loc"]
    context = error.get("ctx", {})
    if error["type"] == "ours":
        if context["below"] is not None:
            path = (*path, context["below"])
        message = f"{_name(path)} {context['message']}" if context["of_key"] else context["message"]
        return Finding(path, message, context["hint"])
    if error["type"] == "extra_forbidden":
        return Finding(path, f"unknown key {quoted(str(path[-1]))}",
                       _way_out(str(path[-1]), _part_at(kind, path[:-1])), at_key=True)
    if error["type"] == "missing":
        return Finding(path[:-1], f"{_owner(kind, path[:-1])} has no {quoted(str(path[-1]))}")
    if error["type"] == "too_short":
        return Finding(path, f"{_name(path)} is empty")
    value = error["input"]
    if value is None or value == "":
        return Finding(path, f"{_name(path)} is empty")
    wanted = _WANTED.get(error["type"])
    if wanted is None:
        return Finding(path, f"{_name(path)} has a value that does not fit here")
    return Finding(path, f"{_name(path)} must be {wanted}, not {_found(value)}", _type_hint(wanted, value))


def _name(path: KeyPath) -> str:
    """How a message calls the value at a path."""
    if not path:
        return "a puzzle"
    if isinstance(path[-1], str):
        under = {"sums": "the sum for ", "givens": "the given at "}
        return under.get(str(path[-2]), "") + quoted(path[-1]) if len(path) > 1 else quoted(path[-1])
    above = next((key for key in reversed(path) if isinstance(key, str)), None)
    place = f" of {quoted(above)}" if above is not None else ""
    return f"item {path[-1] + 1}{place}"


def _owner(kind: type[Part], path: KeyPath) -> str:
    """How a message calls the mapping at a path."""
    part = _part_at(kind, path)
    words: dict[type[Part], str] = {
        BookPart: "the book", SectionPart: "this section", PuzzlePart: "this puzzle", CagePart: "this cage",
    }
    return words.get(part, "the file")


def _found(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return "a number"
    if isinstance(value, str):
        return "text"
    return "a list" if isinstance(value, list) else "a mapping"


def _type_hint(wanted: str, value: object) -> str:
    if wanted == "text" and isinstance(value, bool):
        return "put quotes around it"
    if wanted == "a whole number" and isinstance(value, str) and value.strip().isdigit():
        return "take the quotes away"
    if wanted == "true or false" and isinstance(value, str) and value.lower() in ("yes", "on", "no", "off"):
        return f"write {'true' if value.lower() in ('yes', 'on') else 'false'}"
    return ""


def _way_out(key: str, part: type[Part]) -> str:
    near = nearest(key, part.model_fields)
    if near is not None:
        return f"did you mean {near}?"
    homes = [name for name, other in _PARTS.items() if key in other.model_fields]
    if key in Manifest.model_fields:
        return f"{key} stands at the top of the manifest"
    if len(homes) == 1:
        return f"{key} belongs under {homes[0]}"
    return f"keys here are {listed(list(part.model_fields), 'and')}"
