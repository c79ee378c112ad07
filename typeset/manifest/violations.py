"""Data to typed parts: what the model finds wrong, by key path and in plain words, and what is right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, TypeVar, cast, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from cagework.typeset.faults import listed, nearest, quoted
from cagework.typeset.manifest.nodes import KeyPath, Violation
from cagework.typeset.manifest.parts import InkPart, PicturePart, StrictModel
from cagework.typeset.manifest.schema import (
    BookPart,
    CagePart,
    CoverPart,
    Manifest,
    PressPart,
    PuzzlePart,
    SectionPart,
    TextPagePart,
)
from cagework.typeset.manifest.values import Unfit

_HOMES: dict[str, type[StrictModel]] = {
    "book": BookPart, "cover": CoverPart, "sections": SectionPart, "puzzles": PuzzlePart, "cages": CagePart,
    "press": PressPart, "pages": TextPagePart, "picture": PicturePart, "mark": PicturePart,
    "ink": InkPart,
}
"""Key of a manifest -> the part that stands under it, or whose list does."""

_OWNERS: dict[type[BaseModel], str] = {
    BookPart: "the book", CoverPart: "the cover", SectionPart: "this section", PuzzlePart: "this puzzle",
    CagePart: "this cage", TextPagePart: "this page", PicturePart: "this picture", InkPart: "the ink",
}
"""How messages call a mapping."""

_WANTED = {
    "string_type": "text",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "list_type": "a list",
    "dict_type": "a mapping",
    "model_type": "a mapping",
    "tuple_type": "a list",
    "mapping_type": "a mapping",
    "int_parsing": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "bool_parsing": "true or false",
    "path_type": "the path of a file",
    "greater_than": "more than {gt:g}",
    "greater_than_equal": "{ge:g} or more",
    "less_than": "less than {lt:g}",
    "less_than_equal": "{le:g} or less",
    "literal_error": "{expected}",
    "enum": "{expected}",
    "string_pattern_mismatch": "of the form {pattern}",
}
"""Pydantic's kinds of fault -> what was wanted, in terms of the limits it states."""

_QUOTED = ("literal_error", "enum", "float_parsing", "int_parsing", "string_pattern_mismatch")
"""Kinds of fault that lie in what a text says."""

P = TypeVar("P", bound=StrictModel)


def findings(kind: type[BaseModel], data: object) -> tuple[Violation, ...]:
    """Everything wrong with data that should be this model, a part of a manifest or any other."""
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
    return cast("P", part)  # the type checker's plug-in makes model_construct return the bound


def _without_echoes(kind: type[BaseModel], errors: list[ErrorDetails]) -> Iterator[Violation]:
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


def _part_at(kind: type[BaseModel], path: KeyPath) -> type[BaseModel]:
    """The model that stands at a path below another, or the nearest above it."""
    for key in path:
        field = kind.model_fields.get(str(key))
        kind = (_model_in(field.annotation) if field else None) or kind
    return kind


def _model_in(annotation: object) -> type[BaseModel] | None:
    """The model in an annotation such as `list[Model] | None`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for part in get_args(annotation) if (found := _model_in(part))), None)


def _finding(kind: type[BaseModel], error: ErrorDetails) -> Violation:
    path, value, context = error["loc"], error["input"], error.get("ctx", {})
    if error["type"] == "value_error":
        ours = context["error"]
        if not isinstance(ours, Unfit):
            return Violation(path, str(ours))
        if ours.below is not None:
            path = (*path, ours.below)
        return Violation(path, f"{_name(kind, path)} {ours}" if ours.of_key else str(ours), ours.hint)
    if error["type"] == "missing":
        return Violation(path[:-1], f"{_owner(kind, path[:-1])} has no {quoted(str(path[-1]))}")
    if error["type"] == "extra_forbidden" or path[-1:] == ("[key]",):
        path = path if error["type"] == "extra_forbidden" else path[:-1]
        way_out = _way_out(str(path[-1]), _part_at(kind, path[:-1]))
        if error["type"] != "extra_forbidden":
            way_out = f"keys here are {context.get('expected', 'others')}"
        return Violation(path, f"unknown key {quoted(str(path[-1]))}", way_out, at_key=True)
    if error["type"] == "too_short" or value is None or value == "":
        return Violation(path, f"{_name(kind, path)} is empty")
    wanted = _WANTED.get(error["type"], "another kind of value").format(**context)
    return Violation(path, f"{_name(kind, path)} must be {wanted}, not {_found(value, error['type'])}",
                   _type_hint(path, wanted, value))


def _name(kind: type[BaseModel], path: KeyPath) -> str:
    """How a message calls the value at a path."""
    if not path:
        return "a puzzle" if kind is PuzzlePart else "the file"
    *above, last = path
    if isinstance(last, str):
        under = {"sums": "the sum for ", "givens": "the given at "}
        return under.get(str(above[-1]), "") + quoted(last) if above else quoted(last)
    keys = [key for key in above if isinstance(key, str)]
    place = f" of {quoted(keys[-1])}" if keys else ""
    return f"item {last + 1}{place}"


def _owner(kind: type[BaseModel], path: KeyPath) -> str:
    """How a message calls the mapping at a path."""
    part = _part_at(kind, path)
    return _OWNERS.get(part) or (_name(kind, path) if path else "the file")


def _found(value: object, trouble: str) -> str:
    """What stands there: its kind, or the value itself where the kind was right."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        written = str(getattr(value, "text", value))
        return written if trouble.startswith(("greater", "less", "int", "finite")) else "a number"
    if isinstance(value, str):
        return quoted(value) if trouble in _QUOTED else "text"
    return "a list" if isinstance(value, list) else "a mapping"


def _type_hint(path: KeyPath, wanted: str, value: object) -> str:
    if wanted == "text" and path[-1:] in (("map",), ("regions",)):
        return "start it with '|' and put each row on a line of its own"
    if wanted == "text" and isinstance(value, bool):
        return "put quotes around it"
    if wanted == "a mapping" and path == ("book", "pages"):
        return "pages of your own stand at the top of the manifest, beside sections"
    if wanted == "a mapping" and path[-1:] in (("picture",), ("mark",)):
        return "write it as {file: ..., alt: ...}: its file, and what it shows"
    if wanted == "a whole number" and isinstance(value, str) and value.strip().isdigit():
        return "take the quotes away"
    if wanted == "true or false" and isinstance(value, str) and value.lower() in ("yes", "on", "no", "off"):
        return f"write {'true' if value.lower() in ('yes', 'on') else 'false'}"
    return ""


def _way_out(key: str, part: type[BaseModel]) -> str:
    near = nearest(key, part.model_fields)
    if near is not None:
        return f"did you mean {near}?"
    if issubclass(part, StrictModel):
        homes = [name for name, other in _HOMES.items() if key in other.model_fields]
        if key in Manifest.model_fields:
            return f"{key} stands at the top of the manifest"
        if len(homes) == 1:
            return f"{key} belongs under {homes[0]}"
    return f"keys here are {listed(list(part.model_fields), 'and')}"
