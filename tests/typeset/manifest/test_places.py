"""Values, and the places of every value and character, in parsed YAML."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cagework.typeset.manifest.document import YamlDocument, parse_document
from cagework.typeset.manifest.nodes import KeyPath

FILE = Path("x.yaml")
CHARS = st.characters(codec="utf-8", exclude_characters="\x85\u2028\u2029")
"""PyYAML's dumper writes the three excluded line breaks raw, and its own loader does not get them back."""
WORDS = st.text(CHARS, max_size=12).filter(lambda word: not re.fullmatch(r"[-+.0-9eE]+", word))
"""A text such as 08 or 0E0 is a number in YAML 1.2 but not in 1.1, so the dumper leaves it bare."""
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-10**9, 10**9) | WORDS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(WORDS, inner, max_size=4), max_leaves=12)


def _read(text: str) -> YamlDocument:
    return parse_document(FILE, text)


@given(VALUES.filter(lambda value: value is not None), st.booleans(), st.booleans())
def test_what_pyyaml_writes_is_read_back(value: object, flow: bool, wide: bool) -> None:
    """PyYAML's own dumper as the outside source of YAML in every style it knows."""
    text = yaml.safe_dump(value, default_flow_style=flow, allow_unicode=wide, width=40)
    assert _read(text.replace("\r\n", "\n")).data == value


@pytest.mark.parametrize(("written", "value"), [
    # YAML 1.2.2, chapter 10.3.2 (core schema): these are text there, though not in YAML 1.1
    ("no", "no"), ("Yes", "Yes"), ("on", "on"), ("12:30", "12:30"), ("2026-01-02", "2026-01-02"),
    ("0b11", "0b11"), ("1_000", "1_000"),
    ("true", True), ("False", False), ("~", None), ("null", None), ("", None),
    ("017", 17), ("+3", 3), ("-3", -3), ("1.5", 1.5), ("1e3", 1000.0), ("'1'", "1"), ("!!str 1", "1"),
])
def test_plain_scalars_follow_the_core_schema(written: str, value: object) -> None:
    data = _read(f"key: {written}\n").data
    assert data == {"key": value} and type(data["key"]).__mro__[-2] is type(value).__mro__[-2]  # type: ignore[index]


def _at(text: str, path: KeyPath, *, key: bool = False) -> str:
    document = _read(text)
    spot = document.spot(path, key=key)
    return text[spot.start:spot.start + spot.length]


@pytest.mark.parametrize(("path", "key", "found"), [
    (("book", "title"), False, "'Tide'"), (("book", "title"), True, "title"), (("book",), False, "book"),
    (("list", 1), False, "two"), (("list", 2, "deep"), False, "3"), (("list", 2), False, "deep"),
    (("empty",), False, "empty"), (("book", "absent"), False, "book"), (("block",), False, "|"),
    (("back", "title"), False, "'Tide'"),
])
def test_spots(path: KeyPath, key: bool, found: str) -> None:
    text = ("book: &b\n  title: 'Tide'\nlist:\n- one\n- two\n- deep: 3\nempty:\nblock: |\n  x\nback: *b\n")
    assert _at(text, path, key=key) == found


@given(st.lists(st.text("ab \u00e9\u6f22\u0301#:-", max_size=8), min_size=1, max_size=6), st.integers(1, 5),
       st.sampled_from(["|", "|-", "|+", "|2", "|2-"]), st.booleans())
def test_each_character_of_a_block_is_found(rows: list[str], indent: int, header: str, after: bool) -> None:
    pad = " " * (2 if "2" in header else indent)
    text = f"map: {header}  # comment\n" + "".join(f"{pad}{row}\n" for row in rows) + ("z: 1\n" if after else "")
    try:
        document = _read(text)
    except Exception:  # leading spaces may make the block's own indentation unclear: not YAML
        return
    value = document.data["map"]  # type: ignore[index, call-overload]
    for offset, char in enumerate(value):
        if char != "\n":
            spot = document.spot_in(("map",), offset)
            assert text[spot.start] == char


@pytest.mark.parametrize("written", ["abcd", "'abcd'", '"abcd"', "\n  abcd"])
def test_each_character_of_a_line_is_found(written: str) -> None:
    text = f"key: {written}\n"
    assert text[_read(text).spot_in(("key",), 2).start] == "c"


@pytest.mark.parametrize("written", ['"a\\u0062cd"', "'it''s'", ">\n  ab\n  cd", "ab\n  cd"])
def test_where_the_writing_hides_characters_the_text_is_pointed_at(written: str) -> None:
    document = _read(f"key: {written}\n")
    assert document.spot_in(("key",), 3) == document.spot(("key",))
