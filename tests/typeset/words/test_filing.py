"""Names in the order of an index. The order of ä, ö, ü and ß is that of DIN 5007, part 1 (from memory)."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cagework.typeset.words import load_words
from cagework.typeset.words.filing import filing_key, initial, inverted


@pytest.mark.parametrize("names", [
    ["Ampel", "Ärger", "Arm", "Öl", "Olaf", "Zug"],
    ["Masse", "Maße", "Mast"],
    ["Long Tunnel", "Long Way", "Longing"],                 # word by word
    ["2 Lamps", "10 Lamps", "Lamp 2", "Lamp 10"],           # figures by their value
    ["cote", "coté", "côte"],
    ["Night’s End", "Nights of Rain"],
    ["Æon", "Aerial", "Zebra"],
])
def test_names_stand_in_order(names: list[str]) -> None:
    mixed = random.Random(7).sample(names, len(names))
    assert sorted(mixed, key=filing_key) == names


@pytest.mark.parametrize(("language", "name", "filed"), [
    ("en", "The Lamp Room", "Lamp Room, The"), ("en", "A", "A"), ("en", "Theatre", "Theatre"),
    ("de", "Der letzte Zug", "letzte Zug, Der"), ("de", "The Lamp Room", "The Lamp Room"),
    ("en", "the stoker", "stoker, the"),
])
def test_a_leading_article_goes_to_the_end(language: str, name: str, filed: str) -> None:
    assert inverted(name, load_words(language).articles) == filed


def test_names_are_filed_under_letters_without_their_marks() -> None:
    assert [initial(name) for name in ("Ärger", "‘Tis", "2 Lamps", "…", "ßa")] == ["a", "t", "", "", "s"]


@given(st.lists(st.text(max_size=12), max_size=8))
def test_the_order_is_one_whatever_order_names_come_in(names: list[str]) -> None:
    turned = list(reversed(names))
    assert sorted(turned, key=filing_key) == sorted(names, key=filing_key)
