"""The JSON Schema, by a validator that is not ours (jsonschema, draft 2020-12)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from cagework.layouts.load import shelf_names
from cagework.solver.model import SIZES
from cagework.solver.reasoning.grade import Grade
from cagework.solver.rules import RULES
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.rule_names import house_rules, other_rules
from cagework.typeset.manifest.schema import schema

HERE = Path(__file__).parent
GOOD = sorted((HERE / "good").glob("*.yaml"))
SHAPE_FAULTS = (
    "unknown-key-book", "unknown-key-puzzle", "misspelt-required-key", "key-in-the-wrong-place", "missing-title",
    "missing-book", "missing-id", "book-is-text", "puzzles-is-a-mapping", "puzzle-is-text", "title-is-true",
    "title-is-a-list", "bad-id", "yes-for-true", "imprint-is-text", "unknown-layout", "unknown-grade",
    "unknown-size", "size-is-text", "sum-is-text", "map-without-sums", "sums-without-map", "no-cages",
    "map-and-cages", "cage-without-cells", "cage-cells-is-a-number", "givens-are-a-list", "given-is-text",
    "unknown-house", "rule-under-houses", "house-under-rules", "unknown-rule", "listed-house-unknown-key",
    "map-is-a-list", "one-bad-item-hides-no-other", "two-names-in-one-item", "section-without-puzzles",
    "section-empty", "not-a-manifest", "across-without-kind", "crossing-sums-keys", "list-of-nothing",
)
"""Faults of shape alone: the schema must see them as the reader does."""


def _validator() -> Draft202012Validator:
    return Draft202012Validator(schema())


def test_it_is_a_schema_and_json() -> None:
    made = schema()
    Draft202012Validator.check_schema(made)
    assert made["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    assert json.loads(json.dumps(made)) == made


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_good_manifests_pass(path: Path) -> None:
    assert [error.message for error in _validator().iter_errors(read_document(path).data)] == []


@pytest.mark.parametrize("name", SHAPE_FAULTS)
def test_faults_of_shape_fail(name: str) -> None:
    assert not _validator().is_valid(read_document(HERE / "faults" / f"{name}.yaml").data)


def _keys(part: Any) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(part, dict):
        yield from part.get("properties", {}).items()
        part = list(part.values())
    if isinstance(part, list):
        for below in part:
            yield from _keys(below)


def test_every_key_is_described() -> None:
    keys = dict(_keys(schema()))
    assert len(keys) > 25
    assert [key for key, part in keys.items() if not part.get("description")] == []


def test_names_come_from_the_registries() -> None:
    text = json.dumps(schema())
    puzzle = schema()["$defs"]["PuzzlePart"]["properties"]
    assert puzzle["size"]["enum"] == list(SIZES)
    assert schema()["$defs"]["Grade"]["enum"] == list(Grade)
    assert set(house_rules()) | set(other_rules()) == set(RULES)
    assert "diagonals" in house_rules() and "knight" in other_rules()
    for names in (house_rules(), other_rules(), shelf_names()):
        assert f'"enum": {json.dumps(list(names))}' in text
