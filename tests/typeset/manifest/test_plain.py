"""The quick reading of a puzzle's keys beside pydantic's model of them: one says what the other says."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import Any

from hypothesis import example, given, settings
from hypothesis import strategies as st

from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.plain import KEYS, PlainCage, PlainPuzzle, plain_cage, plain_puzzle
from cagework.typeset.manifest.schema import CagePart, PuzzlePart
from cagework.typeset.manifest.violations import findings, salvage

WRITTEN = [
    "lamp", "Lamp, a  name", "''", "' '", "~", "9", "4", "5", "1.5", "true", "stroll", "full", "x y", "-3", "0",
    "r1c1 r1c2", "[r1c1, r1c2]", "[r1c1, '']", "[]", "[~]", "{}", "{a: 7, b: ~}", "{a: x}", "{a: true}",
    "{r1c1: 1}", "{r1c1: 1.0}", "[{cells: r1c1, sum: 3}]", "[{cells: [r1c1], sum: ~}]",
    "[{cells: r1c1, total: 3}]", "[{sum: 3}]", "[{cells: r1c1, sum: true}]", "[{cells: r1c1, sum: 3.0}]",
    "[diagonals]", "[{knight: r1c1-r1c3}]", "[4]", '"a\\nb"', '"\\u00a0"', '"\\u200b"', "'" + "x" * 201 + "'",
    "7" * 18, "[{cells: 3}]", "[{cells: r1c1}, 5]",
]
"""Values as an editor writes them, right for some keys and wrong for others."""
MANY = st.dictionaries(st.sampled_from([*sorted(KEYS), "titel"]), st.sampled_from(WRITTEN), max_size=5)


def read(written: dict[str, str]) -> Any:
    """A mapping of a YAML file."""
    lines = [f"{key}: {value}\n" for key, value in written.items()]
    return parse_document(Path("p.yaml"), "".join(lines) or "{}").data


def test_the_two_know_the_same_keys() -> None:
    assert {field.name for field in fields(PlainPuzzle)} == KEYS == set(PuzzlePart.model_fields)
    assert {field.name for field in fields(PlainCage)} == set(CagePart.model_fields)


@settings(max_examples=600)
@given(MANY, st.booleans())
@example({"map": "|\n  ab\n  ab", "sums": "{a: 3, b: 3}"}, True)
@example({"id": "0", "title": "1.50"}, False)
def test_a_puzzle_is_taken_where_the_model_takes_it_and_for_the_same(written: dict[str, str], named: bool) -> None:
    data = read(({"id": "lamp", "title": "Lamp"} if named else {}) | written)
    plain, found = plain_puzzle(data), findings(PuzzlePart, data)
    assert (plain is None) == bool(found), found
    if plain is not None:
        part = salvage(PuzzlePart, data)
        for key in KEYS - {"cages"}:
            theirs = getattr(part, key)
            assert (getattr(plain, key), type(getattr(plain, key))) == (theirs, type(theirs)), key
        cages = None if part.cages is None else [PlainCage(cage.cells, cage.sum) for cage in part.cages]
        assert plain.cages == cages


@given(st.dictionaries(st.sampled_from(["cells", "sum", "total"]), st.sampled_from(WRITTEN), max_size=3))
def test_a_cage_is_taken_where_the_model_takes_it(written: dict[str, str]) -> None:
    data = read(written)
    plain = plain_cage(data)
    assert (plain is None) == bool(findings(CagePart, data))
    if plain is not None:
        part = CagePart.model_validate(data)
        assert plain == PlainCage(part.cells, part.sum)
