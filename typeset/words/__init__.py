"""The fixed phrases of a book, by language: one YAML file each, beside this module."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import yaml

from cagework.solver.reasoning.grade import Grade

if TYPE_CHECKING:
    from babel import Locale

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_HERE = Path(__file__).parent


class Way(NamedTuple):
    """A way of reasoning as the primer explains it, and what steps of it are called in a sentence."""

    name: str
    many: str
    text: str


class Described(NamedTuple):
    """A grid in words, for those who cannot see the drawing."""

    grid: str
    regions: str
    cages: str
    cage: str
    across: str
    down: str
    black: str
    white: str
    cage_without_sum: str
    givens: str
    given: str
    groups: str
    holds_for: str
    answer: str
    row: str
    moment: str
    open: str
    rests_on: str
    notes: str
    struck: str
    found: str


class ColumnWords(NamedTuple):
    """The phrases of newspaper columns: in print, in the plain text beside them, and on the contact sheet."""

    heading: str
    heading_of_crossing_sums: str
    number: str
    rules: str
    rules_without_regions: str
    hint: str
    step: str
    answer_yesterday: str
    answer_last_week: str
    answer_of: str
    title: str
    credit: str
    date: str
    grade: str
    in_words: str
    answer: str


class Words(NamedTuple):
    """Every fixed phrase, by name; `{name}` in a phrase is filled in where it is used."""

    contents: str
    introduction: str
    how: str
    sums: str
    answers: str
    worked: str
    hints: str
    index_title: str
    index_by: Mapping[str, str]
    articles: Sequence[str]
    notes: str
    in_short: str
    chapters: Mapping[str, str]
    turning_point: str
    by: str
    answer_on: str
    turn_to: Mapping[str, str]
    puzzle_on: str
    puzzle: str
    puzzles: str
    part: str
    grades: Mapping[Grade, str]
    score_says: str
    range: str
    houses: str
    houses_some_regions: str
    houses_without_regions: str
    digits: str
    digits_by_size: str
    cages: str
    cages_tinted: str
    no_guessing: str
    one_answer: str
    example_lead: str
    example_steps: str
    forty_five: str
    forty_five_without_regions: str
    extra: str
    crossing: str
    crossing_lead: str
    crossing_steps: str
    sums_lead: str
    sums_next: str
    sums_cells: str
    primer: str
    primer_lead: str
    primer_sizes: str
    techniques: Mapping[str, Way]
    described: Described
    columns: ColumnWords

    def headed(self, number: int, title: str | None) -> tuple[str, str]:
        """What a puzzle goes by: its number and its title; where it has none, `Puzzle 12` and nothing more."""
        return (str(number), title) if title else (self.puzzle.format(number=number), "")

    def row(self, first: int, last: int, title: str | None) -> str:
        """What a list of puzzles calls one, or a run of untitled ones, by the numbers of the first and last."""
        if first != last:
            return self.puzzles.format(first=first, last=last)
        return " ".join(filter(None, self.headed(first, title)))

    def listed(self, items: Sequence[str], language: str) -> str:
        """`a`, `a or b`, `a, b or c`, as the language lists them (CLDR)."""
        from babel.lists import format_list
        return str(format_list(items, style="or", locale=locale_of(language)))


def technique_name(technique: str | None) -> str:
    """What an editor calls a technique: its name in the English primer; `none` for None."""
    return str(_ways_in_english()[technique]["name"]) if technique else "none"


@cache
def _ways_in_english() -> dict[str, Any]:
    ways: dict[str, Any] = _said("en")["techniques"]
    return ways


def locale_of(language: str) -> Locale:
    """The locale of a BCP 47 tag; British English for `en` alone and where the tag is not known."""
    from babel import Locale, UnknownLocaleError
    try:
        return Locale.parse("en-GB" if language.lower() == "en" else language, sep="-")
    except (UnknownLocaleError, ValueError):
        return Locale("en", "GB")


def base_of(language: str) -> str:
    """The language of a BCP 47 tag, by which its files are named."""
    return language.split("-")[0].lower()


def languages() -> tuple[str, ...]:
    """The languages there are words for, as the first part of a BCP 47 tag."""
    return tuple(sorted(entry.stem for entry in _HERE.glob("*.yaml")))


@cache
def load_words(language: str) -> Words:
    """The phrases for a BCP 47 tag, by its first part. LookupError where there is no such file, TypeError where
    it lacks a phrase or has one too many.
    """
    base = base_of(language)
    if base not in languages():
        raise LookupError(f"there are no fixed phrases for the language '{language}'")
    plain = _said(base)
    said = {name: phrase if name == "described" else _tied(phrase) for name, phrase in plain.items()}
    return Words(**said | {
        "grades": {Grade(grade): word for grade, word in said["grades"].items()},
        "techniques": {name: Way(**way) for name, way in said["techniques"].items()},
        "described": Described(**said["described"]),
        "columns": ColumnWords(**said["columns"]),
    })


def _tied(phrase: Any) -> Any:
    """A phrase, or a mapping of them, with numbers tied to their nouns."""
    from cagework.typeset.words.punctuation import tied  # the name of a technique needs none of its rules
    if isinstance(phrase, dict):
        return {name: _tied(part) for name, part in phrase.items()}
    return tied(phrase) if isinstance(phrase, str) else phrase


def _said(base: str) -> dict[str, Any]:
    """A language's file as it stands."""
    found: dict[str, Any] = yaml.load((_HERE / f"{base}.yaml").read_text(encoding="utf-8"), _LOADER)
    return found


def words_or_english(language: str) -> Words:
    """The phrases for a BCP 47 tag; the English ones where its language has none."""
    try:
        return load_words(language)
    except LookupError:
        return load_words("en")
