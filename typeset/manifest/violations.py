"""Data to typed parts: what the model finds wrong, by key path and in plain words, and what is right."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any, TypeVar, cast, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from cagework.typeset.faults import listed, nearest, quoted
from cagework.typeset.manifest.nodes import KeyPath, Violation
from cagework.typeset.manifest.notation import ROW_BY_ROW, number_hint
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
from cagework.typeset.manifest.written_as import EXAMPLES, example_hint

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

KEYS = "keys with values"
"""What messages call a mapping."""

_WANTED = {
    "string_type": "text",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "list_type": "a list",
    "dict_type": KEYS,
    "model_type": KEYS,
    "tuple_type": "a list",
    "mapping_type": KEYS,
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
    """Each slip once. A misspelt key is one fault: the key it should have been is not reported missing as well.
    So are the words of a cell list that became keys, for a comma stood between them, and cages without keys.
    """
    meant = set()
    for error in errors:
        if error["type"] == "extra_forbidden":
            *above, key = error["loc"]
            near = nearest(str(key), _part_at(kind, tuple(above)).model_fields)
            meant.add((*above, near))
    strayed = {error["loc"][:-1]: error for error in reversed(errors) if _is_strayed_cell(kind, error)}
    odd: dict[KeyPath, list[ErrorDetails]] = {}
    for error in errors:
        if error["type"] == "model_type" and error["loc"][-2:-1] == ("cages",):
            odd.setdefault(error["loc"][:-1], []).append(error)
    for error in errors:
        part, alike = error["loc"][:-1], odd.get(error["loc"][:-1], [error])
        if error is not strayed.get(part, error) or (error["type"] == "missing" and error["loc"] in meant):
            continue
        if error is alike[0] or error not in alike:
            found = _finding(kind, error)
            more = f"; so must {len(alike) - 1} more" if error is alike[0] and len(alike) > 1 else ""
            yield replace(found, message=found.message + more)


def _is_strayed_cell(kind: type[BaseModel], error: ErrorDetails) -> bool:
    """Whether an unknown key was meant as one of a cage's cells."""
    return (error["type"] == "extra_forbidden" and _part_at(kind, error["loc"][:-1]) is CagePart
            and re.fullmatch(r"[\s\dA-Za-z]*\d[\s\dA-Za-z]*", str(error["loc"][-1])) is not None)


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
        shows = "such as" in str(ours) or not str(ours).startswith("must be")
        hint = ours.hint or ("" if shows else example_hint(path))
        return Violation(path, f"{_name(kind, path)} {ours}" if ours.of_key else str(ours), hint)
    if error["type"] == "missing":
        above = path[:-1]
        return Violation(above, f"{_owner(kind, above)} has no {quoted(str(path[-1]))}", example_hint(path))
    if error["type"] == "extra_forbidden" or path[-1:] == ("[key]",):
        path = path if error["type"] == "extra_forbidden" else path[:-1]
        if _is_strayed_cell(kind, error):
            return Violation(path, f"the comma before {quoted(str(path[-1]))} ends the cells here",
                             f"part cells by spaces: {EXAMPLES['cells']}", at_key=True)
        way_out = _way_out(str(path[-1]), _part_at(kind, path[:-1]))
        if error["type"] != "extra_forbidden":
            way_out = f"keys here are {context.get('expected', 'others')}"
        return Violation(path, f"unknown key {quoted(str(path[-1]))}", way_out, at_key=True)
    if error["type"] == "too_short" or value is None or value == "":
        return Violation(path, f"{_name(kind, path)} is empty", example_hint(path))
    wanted = _WANTED.get(error["type"], "another kind of value").format(**context)
    return Violation(path, f"{_name(kind, path)} must be {wanted}, not {_found(value, error['type'])}",
                   _type_hint(path or (("puzzles", 0) if kind is PuzzlePart else ()), wanted, value))


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
    return "a list" if isinstance(value, list) else KEYS


def _type_hint(path: KeyPath, wanted: str, value: object) -> str:
    """How a value of another kind is written, with an example."""
    if wanted == "text" and path[-1:] in (("map",), ("regions",), ("answer",)):
        return ROW_BY_ROW
    if wanted == "text" and isinstance(value, bool):
        return "put quotes around it"
    if wanted == "text" and path[-1:] not in (("cells",), ("id",)) and isinstance(value, dict | list):
        return "a text that begins with '{' or '[' needs quotes around it"
    if wanted == KEYS and path == ("book", "pages"):
        return "pages of your own stand at the top of the manifest, beside sections"
    if wanted == KEYS and str(value).endswith((".yaml", ".yml")):
        return "files of puzzles are named under book, as puzzles_from: puzzles/*.yaml"
    if wanted == "a whole number" and isinstance(value, str) and value.strip().isdigit():
        return "take the quotes away"
    if wanted == "a whole number" and isinstance(value, str) and (meant := number_hint(value.strip())):
        return meant
    if wanted == "true or false" and isinstance(value, str) and value.lower() in ("yes", "on", "no", "off"):
        return f"write {'true' if value.lower() in ('yes', 'on') else 'false'}"
    return example_hint(path)


def _way_out(key: str, part: type[BaseModel]) -> str:
    if issubclass(part, StrictModel) and key in Manifest.model_fields:
        return f"{key} stands at the top of the manifest, with no spaces before it"
    near = nearest(key, part.model_fields)
    if near is not None:
        return f"did you mean {near}?"
    if issubclass(part, StrictModel):
        homes = [name for name, other in _HOMES.items() if key in other.model_fields]
        if len(homes) == 1:
            return f"{key} belongs under {homes[0]}"
    return f"keys here are {listed(list(part.model_fields), 'and')}"
