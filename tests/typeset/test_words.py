"""The fixed phrases of every language: complete, with the same blanks to fill, and listed its way."""

from __future__ import annotations

from collections.abc import Iterator
from string import Formatter

import pyphen
import pytest
from pydantic import BaseModel

from cagework.typeset.words import languages, load_words

OTHERS = [language for language in languages() if language != "en"]


def phrases(value: object, name: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield name, value
        return
    inner = dict(value) if isinstance(value, BaseModel) else value
    assert isinstance(inner, dict)
    for key, part in inner.items():
        yield from phrases(part, f"{name}/{key}")


def blanks(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


def test_there_is_german() -> None:
    assert "de" in OTHERS


@pytest.mark.parametrize("language", OTHERS)
def test_every_phrase_is_said_with_the_same_blanks(language: str) -> None:
    english, other = dict(phrases(load_words("en"))), dict(phrases(load_words(language)))
    assert english.keys() == other.keys()
    assert [name for name, text in english.items() if blanks(text) != blanks(other[name])] == []
    assert [name for name, text in other.items() if not text.strip() or text.count("*") % 2] == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_phrase_was_left_in_english(language: str) -> None:
    english, other = dict(phrases(load_words("en"))), dict(phrases(load_words(language)))
    assert [name for name, text in other.items() if " " in text and text == english[name]] == []


@pytest.mark.parametrize("language", languages())
def test_words_of_every_language_can_be_divided(language: str) -> None:
    """Patterns of the Hunspell project, by pyphen."""
    assert pyphen.language_fallback(language)


def test_german_lists_as_german_does() -> None:
    """CLDR: no comma before the last item."""
    assert load_words("de").listed(["4", "6", "9"], "de") == "4, 6 oder 9"
