"""Things by name, and templates filled with them, in one language: cells, cages, houses, sums and reasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import replace
from itertools import groupby
from typing import Self

from babel.lists import format_list

from cagework.solver.crossing import is_across
from cagework.solver.model import Cage, Cell, House, Puzzle, Sum
from cagework.solver.rule import Fact, Rule
from cagework.solver.step import (
    Block,
    Claim,
    Clash,
    Counted,
    DeadWay,
    Digits,
    Earlier,
    Else,
    Elsewhere,
    Held,
    Known,
    Lack,
    NoOther,
    Rest,
    Stated,
    Value,
)
from cagework.typeset.words import base_of, locale_of, phrases
from cagework.typeset.words.breaths import alike
from cagework.typeset.words.cage_names import CageNames
from cagework.typeset.words.catalogue import catalogue
from cagework.typeset.words.digits_in_print import DigitsInPrint, in_a_row
from cagework.typeset.words.punctuation import printed, tied
from cagework.typeset.words.templates import count, parts, sentence

FORMS = frozenset({"or", "list", "set", "along", "it", "sentence", "crossing", "words"})
"""Forms that no catalogue has: items with "or", one by one, digits as a pair, a triple or a quad, cells as they
lie on a line, a sum as it is said of its one cell, just named, what is said with a capital, the runs that cross a
block, and a small number of things in words.
"""


class Names:
    """Names things in one language (a BCP 47 tag). Where they are `about` a puzzle, a cage or run whose sum no
    other has goes by that alone. Those `in_print` keep numbers with their nouns, and punctuate an editor's names.
    """

    def __init__(self, language: str, *, in_print: bool = False) -> None:
        self.language = language
        self._in_print = in_print
        self._numbers = DigitsInPrint()
        self._cage_names = CageNames()
        self._rules: Mapping[Fact, str] = {}
        self._letters: Mapping[int, str] = {}
        self._locale = locale_of(language)
        self._catalogue = catalogue(base_of(language))
        self._cells: dict[Cell, str] = {}

    def about(self, puzzle: Puzzle, rules: Iterable[Rule] = ()) -> Self:
        """The same, about one puzzle with these rules of its own."""
        told = copy(self)
        told._cage_names, told._numbers = CageNames(puzzle), DigitsInPrint(puzzle.least - 1)
        told._rules = {fact.raised(1 - puzzle.least) if isinstance(fact, Sum) else fact: rule.by
                       for rule in rules for fact in rule.facts()}
        return told

    def by_letters(self, letters: Mapping[int, str]) -> Self:
        """The same, where steps of a path, by number, are told under letters."""
        told = copy(self)
        told._letters = letters
        return told

    def by_rules(self, facts: Iterable[Fact]) -> str:
        """By which rules of the puzzle's own facts hold: `by the sign`."""
        said = dict.fromkeys(self._rules.get(fact, Rule.by) for fact in facts)
        return self.listed([self.text(by) for by in said])

    def text(self, template: str, case: str = "") -> str:
        """A template in this language; English where the catalogue lacks it.

        `case` is the catalogue's own word for the form a name takes in its sentence (gettext's context).
        """
        template = self._cage_names.said(template)
        said = self._catalogue.get((case, template)) or self._catalogue.get(("", template)) or template
        return tied(said) if self._in_print else said

    def cell(self, cell: Cell) -> str:
        """A cell's name."""
        name = self._cells.get(cell)
        if name is None:
            name = self._cells[cell] = self.text(phrases.CELL).format(row=cell.row, column=cell.col)
        return name

    def named(self, value: Value) -> str:
        """A thing or several by name, as no sentence bends it: `rows 1 and 2`, `the cage of 8 at r5c7`."""
        return self._value(value, "")

    def listed(self, items: Sequence[str]) -> str:
        """`a`, `a and b`, `a, b and c`, as the language lists them."""
        return self._list(list(items), "")

    def say(self, template: str, **values: Value | str) -> str:
        """A template of `phrases` as a sentence."""
        return sentence(self._filled(template, values))

    def fill(self, template: str, **values: Value | str) -> str:
        """A template of `phrases` as a part of a sentence."""
        return self._filled(template, values)

    def _filled(self, template: str, values: Mapping[str, Value | str], case: str = "") -> str:
        """Fill a template, in the form that `case` names.

        A field `{name:or}` lists its items with "or", `{name:is|are}` is the word that goes with one item or with
        more, and any other `{name:form}` names the items in that form.
        """
        filled = []
        for literal, name, form in parts(self.text(template, case)):
            filled.append(literal)
            if name is not None and "|" in form:
                filled.append(form.split("|")[count(values[name]) != 1])
            elif name is not None:
                value = values[name]
                if name == "digit" and isinstance(value, int):
                    value += self._numbers.before
                filled.append(self._value(value, form))
        return "".join(filled)

    def _value(self, value: Value | str, form: str) -> str:
        match value:
            case Cell():    # a tuple too, so first
                return self.cell(value)
            case House():
                return self._houses((value,), form)
            case Cage():
                return self._cage(value, form)
            case Digits():
                if form == "set" and len(value) > 1:
                    return self._set(value) if len(value) in phrases.SETS else self._numbers.added(value)
                return self._digits(value, form)
            case Claim():
                return self._filled(phrases.IS if value.holds else phrases.IS_NOT,
                                    {"cell": value.cell, "digit": value.digit})
            case DeadWay():
                return self._dead([value])
            case Clash():
                return self._clashes([value], form)
            case Else():
                return self._else(value)
            case Rest():
                return self._filled(phrases.REST, {"cage": value.cage}, form)
            case Counted():
                return self._counted(value)
            case Stated():
                return self._stated(value)
            case Known():
                return self._known(value)
            case Lack() | Held():
                return self._left([value])
            case NoOther():
                return self._no_other(value)
            case Elsewhere():
                return self._elsewhere(value, form)
            case Earlier():
                return self._letters.get(value.number) or self._shown(value)
            case Sum():
                return self._sum(value, form)
            case Block():
                return self._block(value, form)
            case tuple():
                return self._several(value, form)
            case int() if form == "words" and 0 < value <= len(phrases.NUMBERS):
                return self.text(phrases.NUMBERS[value - 1])
            case _:
                return sentence(str(value)) if form == "sentence" else str(value)

    def _clashes(self, clashes: Sequence[Clash], form: str) -> str:
        """Several reasons, those of which only the digits differ as one."""
        said = []
        for (how, cells, named), same in groupby(clashes, lambda one: (one.how, one.cells, bool(one.digits))):
            digits = self._list([self._value(one.digits, "") for one in same], "or")
            said.append(self._filled(phrases.CLASH[how, named], {"cells": cells, "digits": digits}))
        return self._list(said, form)

    def _counted(self, value: Counted) -> str:
        """Filled cells that are counted with cages, and these where they are named with them."""
        if value.inside:
            return self._filled(phrases.INSIDE, {"counted": replace(value, inside=False)})
        template = phrases.COUNTED.get((bool(value.left_out), bool(value.sticking_out)), "")
        return self._filled(template, {"left_out": value.left_out, "sticking_out": value.sticking_out})

    def _stated(self, value: Stated) -> str:
        """What rules state, each by which, those by one rule together."""
        said: list[str] = []
        for rule, sums in groupby(value.sums, lambda one: self.by_rules((one,))):
            first, *others = (self._sum(one, "") for one in sums)
            said += [self._filled(phrases.STATED, {"rule": rule, "sum": first}), *others]
        return self.text(phrases.AND).join(said)

    def _known(self, value: Known) -> str:
        """What is counted of an area besides what it leaves."""
        template = phrases.KNOWN[value.cages, bool(value.sums)]
        return self._filled(template, {"sums": value.sums, "counted": value.counted})

    def _else(self, value: Else) -> str:
        """Why a cage holds digits in no other cells; nothing where none could."""
        template = (phrases.ELSE if value.clashes else phrases.ELSE_WAYS if value.ways
                    else phrases.ELSE_SUMS if value.sums else phrases.ELSE_NOT)
        return self._filled(template if value.digits else "", {
            "digits": value.digits, "clash": value.clashes, "ways": value.ways, "sums": value.sums})

    def _elsewhere(self, value: Elsewhere, form: str) -> str:
        """What loses digits; nothing says by what it sees them where a rule of the puzzle's own does."""
        seen = (phrases.IN_BOTH, phrases.IN_BOTH_RULED) if value.groups else (
            phrases.IN_SIGHT, phrases.IN_RULED_SIGHT)
        template = seen[not value.by] if value.cells else phrases.IN_GROUPS
        return self._filled(template, {"groups": value.groups, "cells": value.cells, "by": value.by}, form)

    def _held(self, same: Sequence[Held]) -> str:
        """Cells and the digits that each can be."""
        return self._filled(phrases.HELD, {"cell": tuple([held.cell for held in same]), "digits": same[0].digits})

    def _left(self, same: Sequence[Lack | Held]) -> str:
        """Cells of which each can be nothing but some digits, or none of them."""
        template = phrases.LACK if isinstance(same[0], Lack) else phrases.CAN_BE
        return self._filled(template, {"cells": tuple([one.cell for one in same]), "digits": same[0].digits})

    def _dead(self, same: Sequence[DeadWay]) -> str:
        """Ways to make a cage, and what each would leave nothing for."""
        dead = same[0]
        match dead.leaves:
            case Cell():
                template, name = phrases.LEAVES_CELL, "cell"
            case Cage():
                template, name = phrases.LEAVES_CAGE, "cage"
            case House():
                template, name = phrases.LEAVES_HOUSE, "house"
        begun = isinstance(dead.leaves, Cage) and dead.leaves.raised(self._numbers.before).total != dead.left
        leaves = Rest(dead.leaves) if begun and isinstance(dead.leaves, Cage) else dead.leaves
        return self._filled(template, {
            "ways": tuple([one.way for one in same]), name: leaves, "digit": dead.digit, "held": dead.held,
            "left": dead.left})

    def _set(self, digits: Digits) -> str:
        """Digits as a pair, a triple or a quad."""
        first, *_ = digits
        template = phrases.SETS[len(digits)][first + self._numbers.before in phrases.VOWELS]
        return self.text(template).format(digits="-".join(self._numbers.figures(digits)))

    def _digits(self, digits: Digits, form: str) -> str:
        """Digits as a list or, where the catalogue has a form for that, as one, two or more of them."""
        if form in FORMS or not form:
            return self._list(self._spans(self._numbers.digits(digits), 99 if form == "set" else 4), form)
        named = self._spans(self._numbers.digits(digits), 4)
        template = phrases.DIGIT if len(digits) == 1 else phrases.TWO_DIGITS if len(named) == 2 else phrases.DIGITS
        return self.text(template, form).format(
            digit=named[0], one=named[0], other=named[-1], digits=self._list(named, ""))

    def _no_other(self, reason: NoOther) -> str:
        """Why there is no other way; nothing where there never was one."""
        said = phrases.NO_OTHER.get((bool(reason.barred), bool(reason.unfit), bool(reason.lacks)), "")
        if reason.pair:
            pair, rest = reason.pair
            return self._filled(phrases.BY_PAIR, {
                "pair": pair.plus, "makes": self._numbers.total(pair), "rest": rest.plus,
                "left": self._numbers.total(rest)})
        values: dict[str, Value | str] = {"barred": reason.barred, "unfit": reason.unfit, "lacks": reason.lacks,
                                          "struck": reason.struck}
        if reason.clashes:
            said, values["lacks"] = phrases.NO_OTHER[False, False, True], self._kept_out(reason)
        return self._filled(phrases.NO_MORE if reason.struck else "", values) + self._filled(said, values)

    def _kept_out(self, reason: NoOther) -> str:
        """The digits that are gone, and what keeps other ways out, those that go for the same reason together."""
        said = [self._filled(phrases.GONE, {"barred": reason.barred})] if reason.barred else []
        for clash in dict.fromkeys(reason.clashes):
            unfit = [way for way, own in zip(reason.unfit, reason.clashes, strict=True) if own == clash]
            said.append(self._filled(phrases.UNFIT[clash.how], {
                "unfit": tuple(unfit), "cells": clash.cells, "digits": clash.digits}))
        return self._list(said, "")

    def _sum(self, value: Sum, form: str) -> str:
        """What some cells make, or by how much they are more than others: one total."""
        plus, minus, total = value.plus, value.minus, self._numbers.total(value)
        if form == "it" and len(plus) == 1 and minus:
            template = phrases.MORE_THAN if total > 0 else phrases.LESS_THAN if total else phrases.AS_MUCH
            return self._filled(template, {"minus": minus, "total": abs(total)})
        if total < 0 or not plus:
            plus, minus, total = minus, plus, -total
        if not minus and len(plus) == 1:
            return self._value(Claim(plus[0], total - self._numbers.before, holds=True), form)
        template = phrases.ADD if not minus else phrases.MORE if total else phrases.SAME
        return self._filled(template, {"plus": plus, "minus": minus, "total": total}, form)

    def _spans(self, numbers: Iterable[int], least: int) -> list[str]:
        """Rising numbers one by one, `least` or more in a row as `1 to 4`."""
        template, spans = self.text(phrases.FROM_TO), in_a_row(numbers)
        return [text for span in spans for text in (
            map(str, span) if len(span) < least else (template.format(first=span[0], last=span[-1]),))]

    def _several(self, values: tuple[Value, ...], form: str) -> str:
        match values:
            case (DeadWay(), *_):
                ways = [one for one in values if isinstance(one, DeadWay)]
                return self._list([self._dead(same) for same in alike(ways)], "or")
            case (Held(), *_) if form == "in":
                cells = [one for one in values if isinstance(one, Held)]
                return self.text(phrases.AND_THEN).join(self._held(same) for same in alike(cells))
            case (Lack() | Held(), *_):
                left = [one for one in values if isinstance(one, Lack | Held)]
                return self._list([self._left(same) for same in alike(left)], form)
            case (Clash(), *_):
                return self._clashes([one for one in values if isinstance(one, Clash)], form)
            case (Digits(), *_):
                return self._list([self._numbers.added(item) for item in values if isinstance(item, Digits)],
                                  "" if form == "list" else "or")
            case ((House(), *_) | Block(), *_):
                return self._areas(values, form)
            case (House(), *others) if not any(isinstance(item, Cage) for item in others):
                return self._houses([item for item in values if isinstance(item, House)], form)
            case (Cage(), Cage(), *_):
                return self.text(phrases.CAGES, form).format(cages=self._list(
                    [self._cage(item, form, among_several=True) for item in values if isinstance(item, Cage)],
                    form))
            case (Claim(), *_) if form != "list":
                return self.text(phrases.SO).join(self._value(item, form) for item in values)
            case (Cell(), *_):
                named = [item for item in values if isinstance(item, Cell)]
                named = named if form == "along" else sorted(named)
                return self._list([self.cell(cell) for cell in named], form)
            case (int(), *_):
                return self._list(self._spans([item for item in values if isinstance(item, int)], 4), form)
            case _:
                held = [item for item in values if isinstance(item, Held)]
                first = [self._value(item, form) for item in values if not isinstance(item, Held)]
                return self._list(first + [self._left(same) for same in alike(held)], form)

    def _areas(self, areas: tuple[Value, ...], form: str) -> str:
        """Areas that are each added up: of several, one of more houses than one as these together."""
        together = self.text(phrases.TOGETHER if len(areas) > 1 else phrases.AREA)
        return self._list([(together if isinstance(area, tuple) and len(area) > 1 else phrases.AREA).format(
            houses=self._value(area, form)) for area in areas], "")

    def _cage(self, cage: Cage, form: str, *, among_several: bool = False) -> str:
        cage = cage.raised(self._numbers.before)
        template = self._cage_names.of(cage, among_several=among_several)
        return self.text(template, form).format(sum=cage.total, cell=self.cell(cage.first))

    def _houses(self, houses: Sequence[House], form: str) -> str:
        """Houses by name, those of a kind together: `row 4`, `rows 1, 2 and 3`, `box 2 and column 9`."""
        told: dict[str, list[str]] = {}
        for house in houses:
            word, _, number = house.name.rpartition(" ")
            if word in phrases.NUMBERED:
                told.setdefault(word, []).append(number)
            elif word in phrases.PLACED:
                told.setdefault(word, []).append(self.cell(min(house.cells)))
            else:
                told.setdefault(house.name, [])
        return self._list([self._kind(word, which, form) for word, which in told.items()], form)

    def _kind(self, word: str, which: list[str], form: str) -> str:
        """Houses of one kind by name."""
        names = phrases.NUMBERED.get(word) or phrases.PLACED.get(word)
        if names is None:
            name = printed(word, self.language) if self._in_print else word
            return self.text(phrases.NAMED.get(word, phrases.OTHER), form).format(name=name)
        listed = self._list(self._spans(map(int, which), 3) if word in phrases.NUMBERED else which, form)
        return self.text(names[len(which) > 1], form).format(n=listed, cell=listed)

    def _shown(self, earlier: Earlier) -> str:
        """Where a sum was told, by what it added up."""
        if any(isinstance(area, Block) for area in earlier.houses):
            return self._filled(phrases.AS_RUNS_SHOWED, {"runs": earlier.houses})
        return self._filled(phrases.AS_SHOWN, {"houses": earlier.houses})

    def _block(self, block: Block, form: str) -> str:
        """A block of runs by the rows in which they lie, and of these by columns; or the other way about."""
        level = is_across(block.runs[0].cells)
        if form == "crossing":
            return self.text(phrases.RUNS_DOWN if level else phrases.RUNS_ACROSS)
        lines, along = ("row", "column") if level else ("column", "row")
        places = []
        for place, whole in self._cage_names.places(block):
            named, part = (self._kind(word, [str(number) for number in range(first, last + 1)], case)
                           for word, (first, last), case in (
                               (lines, place.lines, "of"), (along, place.along, "in")))
            places.append(named if whole else self.text(phrases.LINES_IN_PART).format(lines=named, along=part))
        template = phrases.BLOCK_ACROSS if level else phrases.BLOCK_DOWN
        return self.text(template, form).format(places=self._list(places, ""))

    def _list(self, items: list[str], form: str) -> str:
        if len(items) == 1:
            return items[0]
        return str(format_list(items, style="or" if form == "or" else "standard", locale=self._locale))
