"""Steps of a worked path in words: the templates of the techniques, filled and, in other languages, translated.

English is the language of the templates themselves. Any other language is a gettext catalogue beside this
module, `LANGUAGE.po`, whose msgids are the English templates.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from importlib.resources import files
from string import Formatter
from types import MappingProxyType

from babel.lists import format_list
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from cagework.solver.listed import ListedHouse
from cagework.solver.model import Cage, Cell, House
from cagework.solver.reasoning.reason import Stage
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.rules import RULES
from cagework.solver.step import (
    Claim,
    DeadWay,
    Digits,
    Elsewhere,
    Held,
    Lack,
    NoOther,
    Rest,
    Step,
    Sum,
    Value,
)
from cagework.typeset.words import base_of, locale_of
from cagework.typeset.words.parts import (
    ADD,
    CAN_BE,
    HELD,
    IN_BOTH,
    IN_GROUPS,
    IN_SIGHT,
    LACK,
    LEAVES_CAGE,
    LEAVES_CELL,
    LEAVES_HOUSE,
    MORE,
    NO_OTHER,
    PARTS,
    REST,
    SAME,
    SETS,
    VOWELS,
    alike,
)

CELL = "r{row}c{column}"
SO, AND_THEN = ", so ", "; "
"""Between clauses: where the second follows from the first, and where it only comes next."""

IS, IS_NOT = "{cell} is {digit}", "{cell} is not {digit}"
FROM_TO = "{first} to {last}"
STRUCK, STRIKES = "So {items}.", "{cells} cannot be {digits:or}"
CAGE, CAGE_WITHOUT_SUM = "the cage of {sum} at {cell}", "the cage at {cell}"
CAGES, CAGE_AMONG_SEVERAL = "the cages {cages}", "of {sum} at {cell}"
NUMBERED: Mapping[str, tuple[str, str]] = MappingProxyType({
    word: (f"{word} {{n}}", f"{many} {{n}}")
    for word, many in (("row", "rows"), ("column", "columns"), ("box", "boxes"))
})
"""The word of a house that a reader can count -> how one is named, and how several are."""

PLACED: Mapping[str, tuple[str, str]] = MappingProxyType({
    "region": ("the region at {cell}", "the regions at {cell}"),
    "window": ("the window at {cell}", "the windows at {cell}"),
    "extra house": ("the tinted group at {cell}", "the tinted groups at {cell}"),
})
"""The word of a house that is told by its first cell -> how one is named, and how several are."""

NAMED: Mapping[str, str] = MappingProxyType({
    "falling diagonal": "the falling diagonal", "rising diagonal": "the rising diagonal",
})
"""Houses of which there is but one."""

FORMS = frozenset({"or", "list", "set"})
"""Forms that no catalogue has: items with "or", one by one, and digits as a pair, a triple or a quad."""

OTHER = "{name}"
"""A house that an editor named."""

_SHORT = 3
"""Texts of no more blanks than this may well be the same in two languages."""

_BREATH = 6
"""The most placements that a sentence tells."""

_NAMES_WHAT_GOES = ("{digits", "{digit", "{absent", "{gone", "{bound")


def templates() -> tuple[str, ...]:
    """Every English text a catalogue has to translate, in a fixed order."""
    said = [text for technique in TECHNIQUES.values()
            for text in (*technique.sentences.values(), technique.lead, *technique.clauses.values()) if text]
    said += [*(rule.sentence for rule in RULES.values()), ListedHouse.sentence]
    said += [CELL, SO, AND_THEN, IS, IS_NOT, FROM_TO, STRUCK, STRIKES]
    said += [CAGE, CAGE_WITHOUT_SUM, CAGES, CAGE_AMONG_SEVERAL]
    said += PARTS
    said += [text for pair in (*NUMBERED.values(), *PLACED.values()) for text in pair]
    return tuple(dict.fromkeys([*said, *NAMED.values(), OTHER]))


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
    """Says steps in one language (a BCP 47 tag)."""

    def __init__(self, language: str) -> None:
        self._locale = locale_of(language)
        self._catalogue = catalogue(base_of(language))
        self._cells: dict[Cell, str] = {}

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
        templates = TECHNIQUES[step.technique].templates(step.key)
        said = [_sentence(self._filled(template, step.why)) for template in templates]
        if step.parts:
            said.append(self._told(step.parts, [False] * len(step.parts)))
        if step.removes and (step.parts or not any(name in "".join(templates) for name in _NAMES_WHAT_GOES)):
            said.append(self._struck(step))
        return " ".join(said)

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

    def _filled(self, template: str, values: Mapping[str, Value], case: str = "") -> str:
        """Fill a template, in the form that `case` names.

        A field written `{name:or}` lists its items with "or" in place of "and", `{name:is|are}` is the word that
        goes with one item or with more, and any other `{name:form}` names the items in that form.
        """
        filled = []
        for literal, name, form in _parts(self.text(template, case)):
            filled.append(literal)
            if name is not None and "|" in form:
                filled.append(form.split("|")[_count(values[name]) != 1])
            elif name is not None:
                filled.append(self._value(values[name], form))
        return "".join(filled)

    def _value(self, value: Value, form: str) -> str:
        match value:
            case Cell():    # a tuple too, so first
                return self.cell(value)
            case House():
                return self._houses((value,), form)
            case Cage():
                template = CAGE_WITHOUT_SUM if value.total is None else CAGE
                return self.text(template, form).format(sum=value.total, cell=self.cell(value.first))
            case Digits():
                if form == "set" and len(value) in SETS:
                    return self._set(value)
                return self._list(self._spans(value, 4) if form == "or" else [str(digit) for digit in value], form)
            case Claim():
                return self._filled(IS if value.holds else IS_NOT, {"cell": value.cell, "digit": value.digit})
            case DeadWay():
                return self._dead([value])
            case Rest():
                return self._filled(REST, {"cage": value.cage}, form)
            case Lack():
                return self._filled(LACK, {"cell": value.cell, "digits": value.digits}, form)
            case Held():
                return self._filled(CAN_BE, {"cell": value.cell, "digits": value.digits})
            case NoOther():
                return self._no_other(value)
            case Elsewhere():
                template = IN_BOTH if value.groups and value.cells else IN_GROUPS if value.groups else IN_SIGHT
                return self._filled(template, {"groups": value.groups, "cells": value.cells}, form)
            case Sum():
                return self._sum(value, form)
            case tuple():
                return self._several(value, form)
            case _:
                return str(value)

    def _held(self, same: Sequence[Held]) -> str:
        """Cells and the digits that each can be."""
        return self._filled(HELD, {"cell": tuple([held.cell for held in same]), "digits": same[0].digits})

    def _dead(self, same: Sequence[DeadWay]) -> str:
        """Ways to make a cage, and what each would leave nothing for."""
        dead = same[0]
        match dead.leaves:
            case Cell():
                template, name = LEAVES_CELL, "cell"
            case Cage():
                template, name = LEAVES_CAGE, "cage"
            case House():
                template, name = LEAVES_HOUSE, "house"
        return self._filled(template, {
            "ways": tuple([one.way for one in same]), name: dead.leaves, "digit": dead.digit, "held": dead.held})

    def _set(self, digits: Digits) -> str:
        """Digits as a pair, a triple or a quad."""
        first, *_ = digits
        template = SETS[len(digits)][first in VOWELS]
        return self.text(template).format(digits="-".join(map(str, digits)))

    def _no_other(self, reason: NoOther) -> str:
        """Why there is no other way; nothing where there never was one."""
        template = NO_OTHER.get((bool(reason.barred), bool(reason.unfit), bool(reason.lacks)))
        values: dict[str, Value] = {"barred": reason.barred, "unfit": reason.unfit, "lacks": reason.lacks}
        return self._filled(template, values) if template else ""

    def _sum(self, value: Sum, form: str) -> str:
        """What some cells make, or by how much they are more than others."""
        plus, minus, total = value.plus, value.minus, value.total
        if total < 0 or not plus:
            plus, minus, total = minus, plus, -total
        if not minus and len(plus) == 1:
            return self._value(Claim(plus[0], total, holds=True), form)
        template = ADD if not minus else MORE if total else SAME
        return self._filled(template, {"plus": plus, "minus": minus, "total": total}, form)

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
                ways = [one for one in values if isinstance(one, DeadWay)]
                return self._list([self._dead(same) for same in alike(ways)], "or")
            case (Held(), *_) if form == "in":
                cells = [one for one in values if isinstance(one, Held)]
                return self._list([self._held(same) for same in alike(cells)], "")
            case (Digits(), *_):
                return self._list(["+".join(map(str, item)) for item in values if isinstance(item, Digits)], "or")
            case (House(), *others) if not any(isinstance(item, Cage) for item in others):
                return self._houses([item for item in values if isinstance(item, House)], form)
            case (Cage(), Cage(), *_):
                return self.text(CAGES, form).format(cages=self._list(
                    [self.text(CAGE_AMONG_SEVERAL).format(sum=item.total, cell=self.cell(item.first))
                     for item in values if isinstance(item, Cage)], form))
            case (Claim(), *_) if form != "list":
                return self.text(SO).join(self._value(item, form) for item in values)
            case (Cell(), *_):
                named = sorted(item for item in values if isinstance(item, Cell))
                return self._list([self.cell(cell) for cell in named], form)
            case _:
                return self._list([self._value(item, form) for item in values], form)

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
    yield range(start, len(steps))


def _count(value: Value) -> int:
    """How many things a value names."""
    if not isinstance(value, int | tuple | Digits) or isinstance(value, Cell):
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
