"""The registered rules as a manifest names them: under which key, and what an editor's plug-in is told of them."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from cagework.solver.model import BOXES, House, LeastDigit
from cagework.solver.rule import RuleError, Takes
from cagework.solver.rules import RULES
from cagework.typeset.manifest.notation import named_as_data

CELLS = "cells parted by spaces or commas (r1c1 r1c2), runs as r1c1-r1c4"
TEXTS_JSON: dict[str, Any] = {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]}


@lru_cache(maxsize=1)
def house_rules() -> tuple[str, ...]:
    """The registered rules that only add houses; the manifest names these under `houses`."""
    return tuple(name for name in RULES if _adds_only_houses(name))


def other_rules() -> tuple[str, ...]:
    """The registered rules that the manifest names under `rules`."""
    return tuple(name for name in RULES if name not in house_rules())


def least_digit(rules: object) -> int:
    """The digit from which the rules of a puzzle, as its manifest names them, let all its digits run."""
    named = [next(iter(item), None) if isinstance(item, dict) else item for item in rules] if isinstance(
        rules, list) else []
    return min([_least_of(name) for name in named if isinstance(name, str) and name in RULES], default=1)


@lru_cache(maxsize=64)
def _least_of(name: str) -> int:
    return next((fact.digit for fact in RULES[name].exemplar(9).facts() if isinstance(fact, LeastDigit)), 1)


def _adds_only_houses(name: str) -> bool:
    for size in BOXES:
        try:
            facts = RULES[name].exemplar(size).facts()
        except RuleError:
            continue
        return bool(facts) and all(isinstance(fact, House) for fact in facts)
    return False


def rule_json(names: tuple[str, ...]) -> list[dict[str, Any]]:
    """A rule by name, alone or with what it takes."""
    alone = [name for name in names if RULES[name].takes is Takes.NOTHING]
    with_value: dict[str, Any] = {
        "type": "object", "minProperties": 1, "maxProperties": 1, "propertyNames": {"enum": list(names)}}
    values = {name: _value_json(name) for name in names if name not in alone}
    with_value |= {"properties": values} if values else {}
    return [*([{"enum": alone}] if alone else []), with_value]


def _value_json(name: str) -> dict[str, Any]:
    """What stands beside the name of a rule on cells, once or in a list."""
    takes, example = RULES[name].takes, RULES[name].example(9)
    one: dict[str, Any] = {"type": "string"}
    if takes.numbered:
        one = {"type": "object", "required": ["cells", "number"], "additionalProperties": False, "properties": {
            "cells": TEXTS_JSON | {"description": CELLS},
            "number": {"type": "integer", "description": "The number that goes with the cells."}}}
    return {"anyOf": [one, {"type": "array", "minItems": 1, "items": one}],
            "description": f"{takes} ({CELLS}), or a list of such".capitalize(),
            "examples": [named_as_data(example)] if example else []}
