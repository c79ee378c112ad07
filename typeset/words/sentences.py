"""Steps of a worked path in words: the templates of the techniques, filled and, in other languages, translated.

English is the language of the templates themselves. Any other language is a gettext catalogue beside this
module, `LANGUAGE.po`, whose msgids are the English templates.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from copy import copy
from functools import lru_cache
from importlib.resources import files
from string import Formatter

from babel.lists import format_list
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from cagework.solver.listed import ListedHouse
from cagework.solver.model import Cage, Cell, House, Puzzle
from cagework.solver.reasoning.reason import Stage
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.rules import RULES
from cagework.solver.step import Claim, DeadWay, Digits, Step, Value
from cagework.typeset.words import base_of, locale_of, phrases
from cagework.typeset.words.phrases import (
    AND_THEN,
    CAGE,
    CAGE_AMONG_SEVERAL,
    CAGE_WITHOUT_SUM,
    CAGES,
    CELL,
    CUT,
    FROM,
    FROM_TO,
    IS,
    IS_NOT,
    LEAVES_CAGE,
    LEAVES_CELL,
    LEAVES_HOUSE,
    LONE_CAGE,
    LONE_CAGE_AMONG_SEVERAL,
    NAMED,
    NUMBERED,
    OTHER,
    PLACED,
    RUN,
    SO,
    STRIKES,
    STRUCK,
)

_SHORT = 3
"""Texts of no more blanks than this may well be the same in two languages."""

_BREATH = 6
"""The most placements that a sentence tells."""

_NAMES_WHAT_GOES = ("{digits", "{digit", "{absent", "{gone", "{bound")


def templates() -> tuple[str, ...]:
    """Every English text a catalogue has to translate, in a fixed order."""
    said = [text for technique in TECHNIQUES.values() for text in (
        *technique.sentences.values(), technique.question, technique.lead, *technique.clauses.values()) if text]
    said += [*(rule.sentence for rule in RULES.values()), ListedHouse.sentence]
    said += [text for name, text in vars(phrases).items() if name.isupper() and isinstance(text, str)]
    said += [text for pair in (*NUMBERED.values(), *PLACED.values()) for text in pair]
    return tuple(dict.fromkeys([*said, *NAMED.values()]))


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


class Sentences:
    """Says steps in one language (a BCP 47 tag). Where they are `about` a puzzle, a cage whose sum no other of its
    cages has goes by that alone.
    """

    def __init__(self, language: str) -> None:
        self.language = language
        self._lone: frozenset[int | None] = frozenset()
        self._locale = locale_of(language)
        self._catalogue = catalogue(base_of(language))
        self._cells: dict[Cell, str] = {}

    def about(self, puzzle: Puzzle) -> Sentences:
        """The same, about one puzzle."""
        told = copy(self)
        counts = Counter(cage.total for cage in puzzle.cages)
        told._lone = frozenset(total for total, count in counts.items() if total is not None and count == 1)
        return told

    def text(self, template: str, case: str = "") -> str:
        """A template in this language; English where the catalogue lacks it.

        `case` is the catalogue's own word for the form a name takes in its sentence (gettext's context).
        """
        return self._catalogue.get((case, template)) or self._catalogue.get(("", template)) or template

    def cell(self, cell: Cell) -> str:
        """A cell's name."""
        name = self._cells.get(cell)
        if name is None:
            name = self._cells[cell] = self.text(CELL).format(row=cell.row, column=cell.col)
        return name

    def named(self, value: Value) -> str:
        """A thing or several by name, as no sentence bends it: `rows 1 and 2`, `the cage of 8 at r5c7`."""
        return self._value(value, "")

    def step(self, step: Step) -> str:
        """A step as one or two sentences; a what-if with its whole argument."""
        template = TECHNIQUES[step.technique].sentences[step.key]
        said = [_sentence(self._filled(template, step.why))]
        if step.parts:
            said.append(self._told(step.parts, [False] * len(step.parts)))
        if step.removes and (step.parts or not any(name in template for name in _NAMES_WHAT_GOES)):
            said.append(self._struck(step))
        return " ".join(said)

    def listed(self, items: Sequence[str]) -> str:
        """`a`, `a and b`, `a, b and c`, as the language lists them."""
        return self._list(list(items), "")

    def say(self, template: str, **values: Value | str) -> str:
        """A template of `phrases` as a sentence."""
        return _sentence(self._filled(template, values))

    def question(self, step: Step) -> str:
        """What a step asks; empty where it asks nothing."""
        asked = TECHNIQUES[step.technique].question
        return self.say(asked, **step.why) if asked else ""

    def briefly(self, steps: Sequence[Step]) -> str:
        """The digits that steps find, each with where it comes from; where none does, the cages that lose some."""
        placing = [step for step in steps if step.places]
        if not placing:
            return self.say(CUT, cages=tuple(dict.fromkeys(cage for step in steps for cage in step.cites.cages)))
        said = []
        for start in range(0, len(placing), _BREATH):
            items = self.text(AND_THEN).join(map(self._source, placing[start:start + _BREATH]))
            said.append(self.text(RUN).format(items=items) if not start else _sentence(items + "."))
        return " ".join(said)

    def _source(self, step: Step) -> str:
        """A digit and where it comes from, in brackets."""
        clauses = TECHNIQUES[step.technique].clauses
        places = step.cites.added or step.cites.cages or step.cites.houses
        if step.key in clauses or not places:
            return self._clause(step) if step.key in clauses else self.step(step).removesuffix(".")
        (cell, digit), *_ = step.places
        return self._filled(FROM, {"cell": cell, "digit": digit, "places": places})

    def paragraph(self, stages: Sequence[Stage]) -> str:
        """Stages of a path; placements in one breath, and steps of a kind that is listed in one sentence."""
        return self._told([stage.step for stage in stages], [stage.follows_from_last for stage in stages])

    def _told(self, steps: Sequence[Step], follows: Sequence[bool]) -> str:
        said = []
        for breath in _breaths(steps):
            first = steps[breath.start]
            lead = TECHNIQUES[first.technique].lead
            if len(breath) == 1:
                said.append(self.step(first))
            elif lead:
                items = self.text(AND_THEN).join(self._clause(steps[number]) for number in breath)
                said.append(_sentence(self.text(lead).format(items=items)))
            else:
                clauses = [self._clause(first)]
                for number in breath[1:]:
                    clauses += [self.text(SO if follows[number] else AND_THEN), self._clause(steps[number])]
                said.append(_sentence("".join(clauses) + "."))
        return " ".join(said)

    def _clause(self, step: Step) -> str:
        return self._filled(TECHNIQUES[step.technique].clauses[step.key], step.why)

    def _struck(self, step: Step) -> str:
        """What a step strikes, cells that lose the same digits together."""
        by_mask: dict[int, list[Cell]] = {}
        for cell, mask in step.removes:
            by_mask.setdefault(mask, []).append(cell)
        items = (self._filled(STRIKES, {"cells": tuple(cells), "digits": Digits(mask)})
                 for mask, cells in by_mask.items())
        return _sentence(self.text(STRUCK).format(items=self.text(AND_THEN).join(items)))

    def _filled(self, template: str, values: Mapping[str, Value | str]) -> str:
        """Fill a template.

        A field written `{name:or}` lists its items with "or" in place of "and", `{name:is|are}` is the word that
        goes with one item or with more, and any other `{name:form}` names the items in that form.
        """
        filled = []
        for literal, name, form in _parts(self.text(template)):
            filled.append(literal)
            if name is not None and "|" in form:
                filled.append(form.split("|")[_count(values[name]) != 1])
            elif name is not None:
                filled.append(self._value(values[name], form))
        return "".join(filled)

    def _value(self, value: Value | str, form: str) -> str:
        match value:
            case Cell():    # a tuple too, so first
                return self.cell(value)
            case House():
                return self._houses((value,), form)
            case Cage():
                template = CAGE_WITHOUT_SUM if value.total is None else CAGE
                template = LONE_CAGE if value.total in self._lone else template
                return self.text(template, form).format(sum=value.total, cell=self.cell(value.first))
            case Digits():
                return self._list(self._spans(value, 4) if form == "or" else [str(digit) for digit in value], form)
            case Claim():
                return self._filled(IS if value.holds else IS_NOT, {"cell": value.cell, "digit": value.digit})
            case DeadWay():
                return self._dead(value)
            case tuple():
                return self._several(value, form)
            case _:
                return str(value)

    def _dead(self, dead: DeadWay) -> str:
        """A way to make a cage, and what it would leave nothing for."""
        match dead.leaves:
            case Cell():
                template, name = LEAVES_CELL, "cell"
            case Cage():
                template, name = LEAVES_CAGE, "cage"
            case House():
                template, name = LEAVES_HOUSE, "house"
        return self._filled(template, {"way": (dead.way,), name: dead.leaves, "digit": dead.digit})

    def _spans(self, numbers: Iterable[int], least: int) -> list[str]:
        """Rising numbers one by one, `least` or more in a row as `1 to 4`."""
        spans: list[list[int]] = []
        for number in numbers:
            if spans and spans[-1][-1] == number - 1:
                spans[-1].append(number)
            else:
                spans.append([number])
        template = self.text(FROM_TO)
        return [text for span in spans for text in (
            map(str, span) if len(span) < least else (template.format(first=span[0], last=span[-1]),))]

    def _several(self, values: tuple[Value, ...], form: str) -> str:
        match values:
            case (DeadWay(), *_):
                return self._list([self._value(item, form) for item in values], "or")
            case (Digits(), *_):
                return self._list(["+".join(map(str, item)) for item in values if isinstance(item, Digits)], "or")
            case (House(), *_):
                return self._houses([item for item in values if isinstance(item, House)], form)
            case (Cage(), Cage(), *_):
                return self.text(CAGES, form).format(cages=self._list(
                    [self._among_several(item) for item in values if isinstance(item, Cage)], form))
            case (Claim(), *_):
                return self.text(SO).join(self._value(item, form) for item in values)
            case (Cell(), *_):
                cells = sorted(item for item in values if isinstance(item, Cell))
                return self._list([self.cell(cell) for cell in cells], form)
            case _:
                return self._list([self._value(item, form) for item in values], form)

    def _among_several(self, cage: Cage) -> str:
        template = LONE_CAGE_AMONG_SEVERAL if cage.total in self._lone else CAGE_AMONG_SEVERAL
        return self.text(template).format(sum=cage.total, cell=self.cell(cage.first))

    def _houses(self, houses: Sequence[House], form: str) -> str:
        """Houses by name, those of a kind together: `row 4`, `rows 1, 2 and 3`, `box 2 and column 9`."""
        told: dict[str, list[str]] = {}
        for house in houses:
            word, _, number = house.name.rpartition(" ")
            if word in NUMBERED:
                told.setdefault(word, []).append(number)
            elif word in PLACED:
                told.setdefault(word, []).append(self.cell(min(house.cells)))
            else:
                told.setdefault(house.name, [])
        return self._list([self._kind(word, which, form) for word, which in told.items()], form)

    def _kind(self, word: str, which: list[str], form: str) -> str:
        """Houses of one kind by name."""
        names = NUMBERED.get(word) or PLACED.get(word)
        if names is None:
            return self.text(NAMED.get(word, OTHER), form).format(name=word)
        listed = self._list(self._spans(map(int, which), 3) if word in NUMBERED else which, form)
        return self.text(names[len(which) > 1], form).format(n=listed, cell=listed)

    def _list(self, items: list[str], form: str) -> str:
        if len(items) == 1:
            return items[0]
        return str(format_list(items, style="or" if form == "or" else "standard", locale=self._locale))


@lru_cache(maxsize=1024)
def _parts(template: str) -> tuple[tuple[str, str | None, str], ...]:
    """What a template is made of: text, then the name and form of the blank after it; None at the end."""
    return tuple([(literal, name, form or "") for literal, name, form, _ in Formatter().parse(template)])


def _breaths(steps: Sequence[Step]) -> Iterator[range]:
    """The numbers of steps that one sentence tells: a few with clauses, or any that share a lead as well."""
    start = 0
    for number, step in enumerate(steps):
        first = TECHNIQUES[steps[start].technique]
        here = TECHNIQUES[step.technique]
        together = steps[start].key in first.clauses and step.key in here.clauses and (
            here is first if first.lead else not here.lead and number - start < _BREATH)
        if number > start and not together:
            yield range(start, number)
            start = number
    if steps:
        yield range(start, len(steps))


def _count(value: Value | str) -> int:
    """How many things a value names."""
    if isinstance(value, Cell | House | Cage | Claim | DeadWay):
        return 1
    return value if isinstance(value, int) else len(value)


def _sentence(text: str) -> str:
    """The text with a capital; a cell's name keeps its small letter."""
    return text if text[1:2].isdigit() else text[:1].upper() + text[1:]


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
