"""Words that nobody translated: a language whose file is for the most part a copy of another's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from cagework.typeset.words import ColumnWords, Described, Way, Words, base_of, languages, load_words
from cagework.typeset.words.catalogue import catalogue, catalogue_is_of, is_long, templates

_MOST = 0.2
"""The greatest share of longer texts that two languages, however near, are taken to have in common by nature."""


@dataclass(frozen=True, slots=True)
class Copied:
    """How many of a language's longer texts, out of `all`, are word for word those of another."""

    language: str
    other: str
    same: int
    all: int

    @property
    def message(self) -> str:
        """What an editor is told."""
        return (f"{self.same} of {self.all} texts for '{self.language}' are word for word those for "
                f"'{self.other}': words copied from another language are still to be translated")


def copied(language: str) -> Copied | None:
    """What a language (a BCP 47 tag) has from the one it has most in common with; None where that is little,
    where it is English, or where the other one's catalogue says itself that it is not of that language.
    """
    base = base_of(language)
    if base == "en" or base not in languages():
        return None
    own = _texts(base)
    found = [Copied(base, other, _same(own, _texts(other)), len(own)) for other in languages()
             if other != base and catalogue_is_of(other) in (None, other)]
    most = max(found, key=lambda one: one.same, default=None)
    return most if most is not None and most.same > _MOST * most.all else None


def _same(own: Mapping[str, str], other: Mapping[str, str]) -> int:
    return sum(text == other.get(name) for name, text in own.items())


def _texts(language: str) -> dict[str, str]:
    """The longer texts of a language by name, or by their English where they are sentences."""
    said = {english: english for english in templates()} if language == "en" else {
        english: text for (form, english), text in catalogue(language).items() if not form}
    every = {**said, **dict(phrases(load_words(language)))}
    return {name: text for name, text in every.items() if is_long(text)}


def phrases(value: object, name: str = "") -> Iterator[tuple[str, str]]:
    """Each fixed phrase and where it stands: `/columns/heading`."""
    if isinstance(value, str):
        yield name, value
    elif isinstance(value, Words | Way | Described | ColumnWords | Mapping):
        parts = value if isinstance(value, Mapping) else value._asdict()
        for key, part in parts.items():
            yield from phrases(part, f"{name}/{key}")
