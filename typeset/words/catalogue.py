"""What is said in other languages than English: a gettext catalogue each, `LANGUAGE.po`, beside this module. Its
msgids are the English templates, which techniques, rules and `phrases` state.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from cagework.solver.listed import ListedHouse
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.rule import Rule
from cagework.solver.rules import RULES
from cagework.typeset.words import base_of, phrases
from cagework.typeset.words.phrases import (
    CLASH,
    COUNTED,
    KNOWN,
    NAMED,
    NO_OTHER,
    NUMBERED,
    OF_RUNS,
    PLACED,
    SETS,
    UNFIT,
)

_SHORT = 3
"""Texts of no more blanks than this may well be the same in two languages."""


def templates() -> tuple[str, ...]:
    """Every English text a catalogue has to translate, in a fixed order."""
    said = [text for technique in TECHNIQUES.values() for text in (
        *technique.sentences.values(), *technique.answers.values(), technique.question, technique.lead,
        *technique.clauses.values(), *technique.in_brief.values(), *technique.in_passing.values()) if text]
    said += [*(rule.sentence for rule in RULES.values()), ListedHouse.sentence, Rule.by]
    said += [rule.by for rule in RULES.values()]
    said += [text for name, text in vars(phrases).items() if name.isupper() and isinstance(text, str)]
    said += phrases.NUMBERS
    said += [text for pair in (*NUMBERED.values(), *PLACED.values(), *SETS.values()) for text in pair]
    return tuple(dict.fromkeys([*said, *NAMED.values(), *NO_OTHER.values(), *CLASH.values(), *UNFIT.values(),
                                *COUNTED.values(), *KNOWN.values(), *OF_RUNS.values()]))


def untranslated(language: str) -> tuple[str, ...]:
    """The English texts that the catalogue of a language (a BCP 47 tag) does not say, or says in English."""
    base = base_of(language)
    said = catalogue(base)
    return () if base == "en" else tuple(
        text for text in templates()
        if ("", text) not in said or (said["", text] == text and is_long(text)))


def is_long(text: str) -> bool:
    """Whether a text of two languages cannot well be the same: more than four words."""
    return text.count(" ") > _SHORT


def catalogue(language: str) -> Mapping[tuple[str, str], str]:
    """(Context, English) -> text, of the messages that are translated."""
    read = _read(language)
    return {} if read is None else {
        (str(message.context or ""), str(message.id)): str(message.string)
        for message in read if message.id and message.string and not message.fuzzy}


def catalogue_is_of(language: str) -> str | None:
    """The language that a catalogue says it is of; None where there is none, or it does not say."""
    read = _read(language)
    return None if read is None or read.locale is None else str(read.locale.language)


def _read(language: str) -> Catalog | None:
    path = files("cagework.typeset.words") / f"{language}.po"
    if not path.is_file():
        return None
    with path.open("rb") as file:
        return read_po(file)
